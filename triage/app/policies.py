"""Use case: the policy an advice is made under, and the operator's own."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from triage.advice.own_policy import changed
from triage.advice.policy import DEFAULT, presets, read_policy
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


def set_values(values: Sequence[str]) -> Path:
    """Change the operator's own policy by a preset's name and `field=value`; returns its file."""
    path = own_path()
    with locked(path) as target:
        before = read_text(target) if target.exists() else ""
        replace_text(target, changed(before, values, str(path)))
    return path
