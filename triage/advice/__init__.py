"""Weighs staying against moving under the operator's policy, from data passed in."""

from triage.advice.assess import Beside, assess
from triage.advice.policy import DEFAULT, Preset, policy_text, presets, read_policy

__all__ = [
    "DEFAULT",
    "Beside",
    "Preset",
    "assess",
    "policy_text",
    "presets",
    "read_policy",
]
