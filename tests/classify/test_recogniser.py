"""Settings, components and words of condition are found, and each find points to its words."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.classify.recogniser import Recogniser


@cache
def recogniser() -> Recogniser:
    return Recogniser()


def settings_in(text: str) -> set[str]:
    return {find.id for find in recogniser().read(text).finds.settings}


@pytest.mark.parametrize(
    ("text", "setting"),
    [  # synonyms of the trade: common practice, no source
        ("The aircraft paused during RTH", "rth-behaviour"),
        ("Return to home climbs first", "rth-behaviour"),
        ("go-home speed raised", "rth-behaviour"),
        ("RTL overshoots in wind", "rth-behaviour"),
        ("the geofence was ignored", "geofence"),
        ("Max. distance limit can be set", "geofence"),
        ("failsafe position of channel 3", "signal-loss"),
        ("hovers on signal loss", "signal-loss"),
        ("RTL_ALT now defaults to 20", "rth-altitude"),
        ("magnetometer offsets kept", "compass-calibration"),
    ],
)
def test_trade_synonyms_lead_to_the_setting(text: str, setting: str) -> None:
    assert setting in settings_in(text)


@pytest.mark.parametrize(
    ("text", "setting", "words"),
    [
        ("geofense ignored above 80 m", "geofence", "geofense"),
        ("obstacle avoidence at night", "obstacle-avoidance", "obstacle avoidence"),
        ("compass callibration kept", "compass-calibration", "compass callibration"),
    ],
)
def test_misspellings_are_found_below_full_score(text: str, setting: str, words: str) -> None:
    finds = [f for f in recogniser().read(text).finds.settings if f.id == setting]
    assert [(f.words, f.score < 100) for f in finds] == [(words, True)]


def test_word_order_does_not_matter() -> None:
    assert "rth-altitude" in settings_in("the altitude for the return to home is kept")
    assert "rth-altitude" not in settings_in("the altitude sensor sees you home, no return")


@pytest.mark.parametrize(
    ("text", "setting", "there"),
    [  # the same word with and without company that gives it the meaning
        ("Return height can be chosen", "rth-altitude", True),
        ("The return climbs to a greater height first", "rth-altitude", True),
        ("The function had a wrong return value", "rth-behaviour", False),
        ("Throttle curve of the motors", "motor-esc", True),
        ("The upload throttles on slow links", "motor-esc", False),
        ("Log in again after the update", "logging", False),
        ("The log stops after 2 GB", "logging", True),
        ("The settings page loads faster", "display-units", False),
    ],
)
def test_weak_words_count_only_in_company(text: str, setting: str, there: bool) -> None:
    assert (setting in settings_in(text)) is there


@pytest.mark.parametrize("text", ["return-to-home", "RETURN_TO_HOME", "return to home", "RTL_ALT"])
def test_joints_do_not_matter_and_the_find_spans_them(text: str) -> None:
    (find,) = recogniser().read(f"Improved {text}.").finds.settings
    assert find.words == text


def test_ordinary_words_are_not_taken_for_misspellings() -> None:
    finds = recogniser().read("There is still a small correction of various comparisons").finds
    assert finds.settings == finds.severity_words == ()


def test_the_longest_match_stands() -> None:
    assert settings_in("Return-to-home altitude is kept") == {"rth-altitude"}


def test_the_heading_counts_where_the_text_is_silent() -> None:
    finds = recogniser().read("Kestra F7 Nano", ("New motor controllers",)).finds
    assert [(f.id, f.start) for f in finds.components] == [("esc-motor", -1)]


@pytest.mark.parametrize(
    ("text", "frequency"),
    [
        ("could freeze in rare cases", "rarely"),
        ("the picture sometimes froze", "sometimes"),
        ("never worked with two batteries", "always"),
        ("Added a map layer", ""),
    ],
)
def test_the_most_careful_word_tells_the_frequency(text: str, frequency: str) -> None:
    assert recogniser().read(text).finds.frequency == frequency


def test_harm_is_noticed() -> None:
    words = recogniser().read("A motor may stop: the aircraft can crash").finds.severity_words
    assert "crash" in {find.words for find in words}


@given(st.text(max_size=300))
def test_every_find_is_a_slice_of_the_text(text: str) -> None:
    finds = recogniser().read(text).finds
    for find in (*finds.settings, *finds.components, *finds.severity_words):
        assert text[find.start : find.end] == find.words


@given(st.text(max_size=200), st.text(max_size=50))
def test_reading_twice_gives_the_same(text: str, heading: str) -> None:
    assert recogniser().read(text, (heading,)) == recogniser().read(text, (heading,))
