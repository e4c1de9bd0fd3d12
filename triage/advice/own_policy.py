"""Changes to the operator's own policy text: a preset, single values, or both."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from triage.advice.policy import DEFAULT, policy_text, presets, read_policy
from triage.domain.policy import Policy
from triage.errors import ConfigError


def changed(text: str, values: Sequence[str], where: str) -> str:
    """The policy text after `values`: a preset's name, and/or `field=value`.

    A preset starts anew; without one the values change what stands in `text` ('' for none). The
    result is commented TOML that has been read back. ConfigError when a value does not hold.
    """
    names = [value for value in values if "=" not in value]
    if len(names) > 1:
        raise ConfigError(f"two presets: {', '.join(names)}", mend="name one")
    if names and names[0] not in presets():
        known = ", ".join(presets())
        raise ConfigError(f"no preset '{names[0]}'", mend=f"take one of {known}")
    base = names[0] if names else _base(text)
    start = presets()[base].policy if names or not text.strip() else read_policy(text, where)
    fields = dict(_pair(value) for value in values if "=" in value)
    if not fields:
        return policy_text(start, base)
    whole = start.model_dump(mode="json") | {"name": f"own, from {base}"} | fields
    written = "\n".join(f"{key} = {_toml(value)}" for key, value in whole.items())
    try:
        policy = read_policy(f'preset = "{base}"\n{written}\n', "policy")
    except ConfigError as error:
        raise ConfigError(error.problem, mend=error.mend) from error
    return policy_text(policy, base)


def _base(text: str) -> str:
    import tomllib

    try:
        return str(tomllib.loads(text).get("preset", DEFAULT))
    except tomllib.TOMLDecodeError:
        return DEFAULT


def _pair(value: str) -> tuple[str, Any]:
    key, _, stated = (part.strip() for part in value.partition("="))
    if key not in Policy.model_fields:
        known = ", ".join(Policy.model_fields)
        raise ConfigError(f"no policy field '{key}'", mend=f"fields are {known}")
    for number in (int, float):
        try:
            return key, number(stated)
        except ValueError:
            continue
    return key, stated


def _toml(value: object) -> str:
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return str(value) if isinstance(value, int | float) else f'"{text}"'
