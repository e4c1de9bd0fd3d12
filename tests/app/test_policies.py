"""The operator's own policy file is changed where it stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from triage.advice import read_policy
from triage.advice.policy import policy_text, presets
from triage.app.policies import edited, own_policy, set_values
from triage.errors import ConfigError

MINE = """\
# agreed with Sam in spring
name = "club rules"
preset = "balanced"

job_days = 4  # the weekend before
"""


def test_comments_name_and_what_is_not_named_stay() -> None:
    text = edited(MINE, ["min_days_flight=21", "job_days=5"], "policy.toml")
    for words in ("# agreed with Sam in spring", 'name = "club rules"', "# the weekend before"):
        assert words in text
    policy = read_policy(text)
    assert (policy.name, policy.job_days, policy.min_days_flight) == ("club rules", 5, 21)


def test_another_preset_keeps_the_operators_own_words() -> None:
    text = edited(MINE, ["eager"], "policy.toml")
    assert "# agreed with Sam in spring" in text and read_policy(text).name == "club rules"
    assert read_policy(text).credible == presets()["eager"].policy.credible


def test_a_file_as_written_here_takes_the_reasons_of_the_new_preset() -> None:
    first = edited("", ["conservative"], "policy.toml")
    assert edited(first, ["eager"], "p") == policy_text(presets()["eager"].policy, "eager")


def test_a_value_is_set_where_its_reason_stands() -> None:
    lines = edited("", ["eager", "min_days_flight=10"], "policy.toml").splitlines()
    at = lines.index("min_days_flight = 10")
    assert lines[at - 1] == f"# {presets()['eager'].reasons['min_days_flight']}"


@pytest.mark.parametrize("value", ["credible=2", "speed=2", "bold", "accept=huge"])
def test_what_does_not_hold_changes_nothing(
    value: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    (tmp_path / "policy.toml").write_text(MINE)
    with pytest.raises(ConfigError):
        set_values([value])
    assert (tmp_path / "policy.toml").read_text() == MINE
    assert own_policy() is not None
