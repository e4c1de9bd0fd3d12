"""Keeps the many items and places of long notes small.

Every pydantic object carries a set of the names of its fields, 700 bytes for an item; all items
have all fields given, so one set serves them all. Frozen objects never change it.
"""

from __future__ import annotations

from typing import TypeVar

from triage.domain.base import Frozen
from triage.domain.notes import Item, Place

Model = TypeVar("Model", bound=Frozen)
_FIELDS: dict[type[Frozen], set[str]] = {model: set(model.model_fields) for model in (Item, Place)}


def lean(thing: Model) -> Model:
    """The same object with the shared set of field names; all its fields have to be given."""
    object.__setattr__(thing, "__pydantic_fields_set__", _FIELDS[type(thing)])
    return thing
