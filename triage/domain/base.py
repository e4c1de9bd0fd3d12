"""The common base of all domain types, and what is read under an earlier name."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """An immutable record that refuses unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def under_new_name(data: Any, before: str, now: str) -> Any:
    """For validators: raw data with the field `before` of an older record under its name `now`."""
    if isinstance(data, dict) and before in data and now not in data:
        return {now if key == before else key: value for key, value in data.items()}
    return data
