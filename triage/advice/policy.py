"""The ready policies, and reading and writing the operator's own."""

from __future__ import annotations

import tomllib
from functools import cache
from typing import Any

from pydantic import ValidationError

from triage.domain.base import Frozen
from triage.domain.policy import Policy
from triage.errors import ConfigError
from triage.reference.loader import load_table

DEFAULT = "balanced"


class PresetValue(Frozen):
    """A number of a preset and why it is what it is."""

    value: float | int | str
    reason: str


class _PresetFile(Frozen):
    conservative: dict[str, PresetValue | str]
    balanced: dict[str, PresetValue | str]
    eager: dict[str, PresetValue | str]


class Preset(Frozen):
    """A ready policy, its summary, and the reason of each number by field name."""

    policy: Policy
    summary: str
    reasons: dict[str, str]


@cache
def presets() -> dict[str, Preset]:
    """The ready policies by name, strictest first."""
    tables = load_table("presets.toml", _PresetFile)
    found = {}
    for name in ("conservative", "balanced", "eager"):
        rows: dict[str, PresetValue | str] = getattr(tables, name)
        values = {k: v for k, v in rows.items() if isinstance(v, PresetValue)}
        fields: dict[str, Any] = {k: v.value for k, v in values.items()}
        found[name] = Preset(
            policy=Policy(name=name, **fields),
            summary=str(rows["summary"]),
            reasons={k: v.reason for k, v in values.items()},
        )
    return found


def _line_of(text: str, key: str) -> int | None:
    for number, line in enumerate(text.splitlines(), start=1):
        if line.split("=", 1)[0].strip().strip("\"'") == key:
            return number
    return None


def read_policy(text: str, where: str = "policy") -> Policy:
    """The policy written in TOML: `preset`, and any field of `Policy` that departs from it.

    ConfigError names the file, the line and the mend.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None)
        raise ConfigError(str(error), where=where, line=line, mend="mend the line") from error
    base = data.pop("preset", DEFAULT)
    if base not in presets():
        raise ConfigError(
            f"there is no preset '{base}'",
            where=where,
            line=_line_of(text, "preset"),
            mend=f"take one of {', '.join(presets())}",
        )
    start = presets()[base].policy.model_dump()
    if data and "name" not in data:
        start["name"] = f"own, from {base}"
    try:
        return Policy.model_validate({**start, **data})
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0]) if first["loc"] else ""
        if first["type"] == "extra_forbidden":
            problem, mend = f"there is no '{key}'", f"take one of {', '.join(Policy.model_fields)}"
        else:
            problem = f"{key}: {first['msg']}, not {first['input']!r}"
            mend = f"the {base} preset has {start[key]!r}" if key in start else "mend the value"
        raise ConfigError(problem, where=where, line=_line_of(text, key), mend=mend) from error


def _toml(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


def policy_text(policy: Policy, base: str = DEFAULT) -> str:
    """The policy as commented TOML; fields equal to the preset `base` are commented out."""
    preset = presets()[base]
    lines = [f"# {preset.summary}", f'preset = "{base}"  # {", ".join(presets())}', ""]
    for field, reason in preset.reasons.items():
        value, usual = getattr(policy, field), getattr(preset.policy, field)
        lines += [f"# {reason}", f"{'# ' if value == usual else ''}{field} = {_toml(value)}", ""]
    return "\n".join(lines)
