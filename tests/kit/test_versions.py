from __future__ import annotations

import itertools

import pytest
from debian.debian_support import Version as DebianVersion
from hypothesis import given
from hypothesis import strategies as st
from packaging.version import Version as PepVersion

from triage.errors import ConfigError
from triage.kit.versions import compare, from_mavlink, known, order, same_as

# SemVer 2.0.0, clause 11: the two chains printed there, each in rising order.
SEMVER = [
    ["1.0.0", "2.0.0", "2.1.0", "2.1.1"],
    [
        "1.0.0-alpha",
        "1.0.0-alpha.1",
        "1.0.0-alpha.beta",
        "1.0.0-beta",
        "1.0.0-beta.2",
        "1.0.0-beta.11",
        "1.0.0-rc.1",
        "1.0.0",
    ],
]


@pytest.mark.parametrize("chain", SEMVER)
def test_semver_clause_11(chain: list[str]) -> None:
    for (i, a), (j, b) in itertools.product(enumerate(chain), repeat=2):
        assert compare(a, b) == (i > j) - (i < j), (a, b)


def test_semver_clause_10_build_metadata_does_not_count() -> None:
    assert compare("1.0.0+20130313144700", "1.0.0+exp.sha.5114f85") == 0
    assert compare("1.0.0-beta+exp", "1.0.0") == -1


# python-debian is the reference; '~' sorts before everything, even the end of the string.
@pytest.mark.parametrize("later", ["1.0", "1.1~rc1", "1.0.1"])
@pytest.mark.parametrize("earlier", ["1.0~beta1", "1.0~rc2", "0.9", "1.0~alpha3"])
def test_debian_tilde(earlier: str, later: str) -> None:
    assert DebianVersion(earlier) < DebianVersion(later)
    assert compare(earlier, later) == -1


numbers = st.lists(st.integers(0, 600), min_size=1, max_size=4)
stages = st.tuples(st.sampled_from(["a", "b", "rc", ".dev", ".post"]), st.integers(1, 12))


@st.composite
def pep_versions(draw: st.DrawFn) -> str:
    stage = draw(st.none() | stages)
    text = ".".join(map(str, draw(numbers)))
    return text if stage is None else f"{text}{stage[0]}{stage[1]}"


@given(pep_versions(), pep_versions())
def test_agrees_with_pep_440(a: str, b: str) -> None:
    """`packaging` is the reference."""
    x, y = PepVersion(a), PepVersion(b)
    assert compare(a, b) == (x > y) - (x < y)


@given(st.lists(st.integers(0, 300), min_size=3, max_size=3), st.data())
def test_agrees_with_debian_where_both_have_as_many_numbers(
    first: list[int], data: st.DataObject
) -> None:
    """`python-debian` is the reference; Debian, unlike PEP 440, holds 1.0 to be before 1.0.0."""
    second = [n + data.draw(st.integers(0, 2)) for n in first]
    ends = st.sampled_from(["", "~alpha1", "~beta1", "~beta2", "~rc1"])
    a = ".".join(f"{n:02d}" for n in first) + data.draw(ends)
    b = ".".join(map(str, second)) + data.draw(ends)
    x, y = DebianVersion(a), DebianVersion(b)
    assert compare(a, b) == (x > y) - (x < y)


# MAVLink common.xml: flight_sw_version = major, minor, patch, FIRMWARE_VERSION_TYPE (0 dev,
# 64 alpha, 128 beta, 192 rc, 255 official).
@pytest.mark.parametrize(
    ("packed", "text"),
    [
        (0x040507FF, "4.5.7"),
        (0x040507C0, "4.5.7-rc"),
        (0x04050780, "4.5.7-beta"),
        (0x04050740, "4.5.7-alpha"),
        (0x04050700, "4.5.7-dev"),
    ],
)
def test_mavlink_versions(packed: int, text: str) -> None:
    assert from_mavlink(packed) == text
    assert compare(hex(packed), text) == 0


@given(st.integers(0, 0xFFFFFFFF), st.integers(0, 0xFFFFFFFF))
def test_packed_versions_keep_the_order_of_the_integers(a: int, b: int) -> None:
    one, other = from_mavlink(a), from_mavlink(b)
    assert compare(one, other) == (a > b) - (a < b)


@pytest.mark.parametrize("packed", [-1, 1 << 32])
def test_a_number_that_is_no_packed_version(packed: int) -> None:
    with pytest.raises(ConfigError):
        from_mavlink(packed)


# Common practice, no source.
@pytest.mark.parametrize(
    ("a", "b", "sign"),
    [
        ("01.00.0500", "1.0.500", 0),
        ("01.00.0500", "v01.00.0600", -1),
        ("1.0.500", "01.00.0600", -1),
        ("V01.03.1200", "01.03.0900", 1),
        ("1.10", "1.9", 1),
        ("1.4", "1.4.0", 0),
        ("Version 1.4", "v1.4", 0),
        ("4.5.6-beta1", "4.5.6", -1),
        ("4.5.6 beta 2", "4.5.6-beta10", -1),
        ("4.5.6-beta2", "4.5.5", 1),
        ("1.2.3-dev", "1.2.3-alpha", -1),
        ("4.5.6-12-gabc1234", "4.5.6", 1),
        ("1.2.3 hotfix 1", "1.2.3", 1),
        ("1.0 final", "1.0", 0),
        ("4.1a", "4.1b", -1),
        ("4.1a", "4.2", -1),
        ("1.2.3d", "1.2.3", 1),
        ("2024-09-03", "20240904", -1),
        ("2024.09.03", "2024/9/3", 0),
        ("2024-12-01", "2025-01-01", -1),
        ("03.09.2024", "04.08.2024", None),
        ("03.09.2024", "04.10.2024", -1),
        ("1.2.3 (456)", "1.2.3 (1000)", -1),
        ("1.2.3 (456)", "1.2.3", 0),
        ("1.2.3 LTS", "1.2.4", -1),
    ],
)
def test_firmware_versions(a: str, b: str, sign: int | None) -> None:
    assert compare(a, b) == sign
    assert compare(b, a) == (None if sign is None else -sign)


@pytest.mark.parametrize(
    ("a", "b", "reason"),
    [
        ("", "1.0", "not known"),
        ("unknown", "1.0", "not known"),
        ("same as the aircraft", "1.0", "another unit"),
        ("4.1a", "4.1", "a later build or an early version"),
        ("4.1b", "4.1-rc1", "a later build or an early version"),
        ("1.2.3-4", "1.2.3", "no standard says"),
        ("1.2.3 LTS", "1.2.3", "no standard says"),
        ("2024-09-03", "1.4", "one is a date"),
        ("240903", "1.4", "a build number"),
        ("1.05", "1.1", "05"),
        ("03/04/2024", "1.0", "not a version that can be read"),
        ("1.4.x", "1.5", "not a version that can be read"),
        ("1.4 / 2.0", "1.3", "not a version that can be read"),
        ("a1b2c3d", "3.0", "not a version that can be read"),
        ("latest", "3.0", "not a version that can be read"),
        ("Tiller 1.2", "Heron 1.3", "different names"),
    ],
)
def test_what_cannot_be_compared_is_not_guessed(a: str, b: str, reason: str) -> None:
    for found in (order(a, b), order(b, a)):
        assert found.sign is None and reason in found.reason


def test_the_unit_that_shares_its_version_is_named() -> None:
    assert same_as("same as the aircraft") == "aircraft"
    assert same_as("The same version as Tiller ") == "tiller"
    assert same_as("1.4") == ""


def test_known() -> None:
    assert known("01.00.0500") and not known("?") and not known("same as the aircraft")


texts = st.from_regex(r"v?[0-9]{1,3}(\.[0-9]{1,4}){0,3}[-~ .]?[a-z]{0,5}[0-9]{0,2}", fullmatch=True)


@given(texts | st.text(max_size=20), texts | st.text(max_size=20))
def test_order_is_the_same_from_both_sides(a: str, b: str) -> None:
    there, back = order(a, b), order(b, a)
    assert there.sign == (None if back.sign is None else -back.sign)
    assert bool(there.reason) == (there.sign is None)


@given(texts, texts, texts)
def test_order_has_no_rings(a: str, b: str, c: str) -> None:
    if compare(a, b) == compare(b, c) == -1:
        assert compare(a, c) in (-1, None)
