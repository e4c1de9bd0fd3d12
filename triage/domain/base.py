"""The common base of all domain types."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """An immutable record that refuses unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")
