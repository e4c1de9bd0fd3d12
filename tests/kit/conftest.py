"""Invented notes, built by hand so that the kit's tests need no reader."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import pytest

from triage.domain.notes import (
    Comparison,
    Notes,
    Place,
    Release,
    Requirement,
    Source,
    SourceFormat,
    StatedDate,
    Status,
)

PLACE = Place(start=0, end=1, line=7, end_line=7)


def needs(comparison: Comparison, component: str, version: str = "", name: str = "") -> Requirement:
    return Requirement(
        component=component,
        name=name,
        comparison=comparison,
        version=version,
        text=f"{comparison} {component or name} {version}",
        place=PLACE,
    )


def release(
    version: str,
    component: str = "aircraft",
    unit: str = "",
    *requirements: Requirement,
    day: dt.date | None = None,
    status: Status = Status.RELEASED,
) -> Release:
    return Release(
        title=f"{unit or component} {version}",
        component=component,
        unit=unit,
        version=version,
        date=StatedDate(text=str(day), day=day) if day else None,
        status=status,
        items=(),
        requirements=requirements,
        place=PLACE,
    )


def notes(*releases: Release) -> Notes:
    source = Source(
        name="demo", format=SourceFormat.TEXT, encoding="utf-8", sha256="0" * 64, characters=0
    )
    return Notes(source=source, releases=releases)


@pytest.fixture
def make() -> SimpleNamespace:
    return SimpleNamespace(release=release, needs=needs, notes=notes)
