"""Reading, writing and bounds of policies."""

from __future__ import annotations

import pytest

from triage.advice import policy_text, presets, read_policy
from triage.domain.policy import Level, Policy
from triage.errors import ConfigError


def test_every_number_of_a_preset_has_a_reason() -> None:
    assert list(presets()) == ["conservative", "balanced", "eager"]
    for preset in presets().values():
        assert set(preset.reasons) == set(Policy.model_fields) - {"name"}
        assert all(len(reason) > 10 for reason in preset.reasons.values())


def test_empty_text_is_the_balanced_preset() -> None:
    assert read_policy("") == presets()["balanced"].policy


def test_own_values_depart_from_the_preset_named() -> None:
    own = read_policy('preset = "eager"\nmin_days_flight = 10\naccept = "medium"\n')
    assert (own.min_days_flight, own.accept) == (10, Level.MEDIUM)
    assert own.credible == presets()["eager"].policy.credible
    assert own.name == "own, from eager"


@pytest.mark.parametrize("name", ["conservative", "balanced", "eager"])
def test_text_written_reads_back(name: str) -> None:
    policy = presets()[name].policy
    assert read_policy(policy_text(policy, name)) == policy
    other = policy.model_copy(update={"job_days": 9, "name": f"own, from {name}"})
    assert read_policy(policy_text(other, name)) == other
    assert f"# {presets()[name].reasons['job_days']}\njob_days = 9" in policy_text(other, name)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("# mine\ncredible = 1.5\n", 2, "credible"),
        ('preset = "bold"\n', 1, "conservative"),
        ("\n\nmin_day_flight = 3\n", 3, "min_days_flight"),
        ('accept = "huge"\n', 1, "'huge'"),
        ("job_days = -1\n", 1, "job_days"),
        ('least_status = "withdrawn"\n', 1, "candidate"),
        ("a = = 1\n", 1, "line 1"),
    ],
)
def test_a_broken_policy_names_line_and_mend(text: str, line: int, words: str) -> None:
    with pytest.raises(ConfigError) as caught:
        read_policy(text, "policy.toml")
    message = str(caught.value)
    assert "policy.toml" in message
    assert words in message
    assert f":{line}:" in message or f"line {line}" in message
    assert "\n" not in message
    assert caught.value.mend
