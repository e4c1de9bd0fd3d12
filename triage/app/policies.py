"""Use case: the policy an advice is made under, and the operator's own file of it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from triage.advice.policy import DEFAULT, policy_text, presets, read_policy
from triage.domain.policy import Policy
from triage.errors import ConfigError
from triage.storage.atomic_write import locked, read_text, replace_text
from triage.storage.user_folder import user_file

OWN = "own"


def own_path() -> Path:
    """Where the operator's own policy lies."""
    return user_file("policy.toml")


def own_policy() -> Policy | None:
    """The operator's own policy, where there is a file."""
    path = own_path()
    return read_policy(read_text(path), str(path)) if path.exists() else None


def policy_named(name: str = "") -> Policy:
    """A preset, 'own', or without a name the operator's own, else the default preset."""
    if name in presets():
        return presets()[name].policy
    own = own_policy()
    if name not in ("", OWN) or (name == OWN and own is None):
        known = ", ".join(presets())
        raise ConfigError(f"no policy '{name[:40]}'", mend=f"take one of {known}")
    return own or presets()[DEFAULT].policy


def policy_in(name: str) -> Policy:
    """As `policy_named`; any other name is that of a policy file."""
    path = Path(name)
    if name in ("", OWN) or name in presets():
        return policy_named(name)
    if not path.is_file():
        known = ", ".join(presets())
        raise ConfigError(f"no policy '{name}'", mend=f"name a file or one of {known}")
    return read_policy(read_text(path), name)


def check_file(path: Path | None = None) -> tuple[Path, Policy | None]:
    """A policy file and what it holds; of the operator's own None where there is none."""
    file = path or own_path()
    if path is None and not file.exists():
        return file, None
    if not file.is_file():
        raise ConfigError("no such file", where=str(file), mend="check the name")
    return file, read_policy(read_text(file), str(file))


def set_values(values: Sequence[str]) -> Path:
    """Change the operator's own policy by a preset's name and `field=value`; returns its file.

    Comments, the policy's name and all that is not named stay. ConfigError, with nothing written,
    when a value does not hold.
    """
    path = own_path()
    with locked(path) as target:
        before = read_text(target) if target.exists() else ""
        replace_text(target, edited(before, values, str(path)))
    return path


def edited(text: str, values: Sequence[str], where: str) -> str:
    """The policy text ('' for none yet) after `values`, read back before it is returned."""
    preset, fields = _stated(values)
    if text.strip():
        current = read_policy(text, where)
        base = _preset_of(text)
        if preset and text == policy_text(current, base):  # as written here, with no word added
            text = policy_text(presets()[preset].policy, preset)
        elif preset:
            text = _with(text, {"preset": preset})
    else:
        base = preset or DEFAULT
        text = policy_text(presets()[base].policy, base)
    text = _with(text, fields)
    try:
        read_policy(text, "policy")
    except ConfigError as error:  # its line is one of a text that is not written
        raise ConfigError(error.problem, mend=error.mend) from error
    return text


def _stated(values: Sequence[str]) -> tuple[str, dict[str, str | int | float]]:
    """The preset named, '' for none, and the values by field."""
    names = [value for value in values if "=" not in value]
    if len(names) > 1:
        raise ConfigError(f"two presets: {', '.join(names)}", mend="name one")
    if names and names[0] not in presets():
        known = ", ".join(presets())
        raise ConfigError(f"no preset '{names[0]}'", mend=f"take one of {known}")
    return "".join(names), dict(_pair(value) for value in values if "=" in value)


def _pair(value: str) -> tuple[str, str | int | float]:
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


def _preset_of(text: str) -> str:
    import tomlkit

    return str(tomlkit.parse(text).get("preset", DEFAULT))


def _with(text: str, fields: Mapping[str, str | int | float]) -> str:
    """TOML text with the fields set; one that stands there as a comment is set in its place."""
    import tomlkit

    for key, value in fields.items():
        document = tomlkit.parse(text)
        shown = f"{key} = {tomlkit.item(value).as_string()}"
        pattern = re.compile(rf"^# *{key} *=.*$", re.MULTILINE)
        if key not in document and pattern.search(text):
            text = pattern.sub(lambda found, shown=shown: shown, text, count=1)  # type: ignore[misc]
            continue
        document[key] = value
        text = tomlkit.dumps(document)
    return text
