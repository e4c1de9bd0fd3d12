"""An annotated document as the releases a reader should find, in the form of the reading record."""

from __future__ import annotations

import html
import re
from typing import Any

from triage.reference.coarse import coarse
from triage.training.documents import Annotated, Span, StatedRelease
from triage.training.examples import KINDS

_TAG = re.compile(r"<[^<>]{0,200}>|[*`]+|\n\s*[>|*#]*\s*|\s*\|\s*")


def gold_of(document: Annotated) -> dict[str, Any]:
    """The gold reading: releases with items, instructions, requirements, known issues."""
    return {
        "file": document.name,
        "releases": [_release(document, release) for release in document.releases],
    }


def _release(document: Annotated, release: StatedRelease) -> dict[str, Any]:
    own = [span for span in document.spans if span.release == release.number]
    return {
        "version": release.version,
        "date": release.date,
        "withdrawn": release.withdrawn,
        "prerelease": release.prerelease,
        "units": [
            {"component": coarse(component), "name": name, "version": version}
            for component, name, version in release.units
        ],
        "items": [_item(document, span) for span in own if span.role == "c"],
        "instructions": [
            {**_said(document, span), "about": (span.words or ("other",))[0]}
            for span in own
            if span.role == "i"
        ],
        "requirements": [
            {
                "component": coarse(fields[0]),
                "comparison": fields[1],
                "version": fields[2],
                "line": _line(document, span),
            }
            for span in own
            for fields in span.fields("q")
            if len(fields) == 3
        ],
        "known_issues": [_said(document, span) for span in own if span.role == "k"],
    }


def _item(document: Annotated, span: Span) -> dict[str, Any]:
    letters = span.words[0] if span.words else ""
    return {
        **_said(document, span),
        "kinds": [KINDS[letter] for letter in letters if letter in KINDS],
        "effects": [
            {"setting": f[1], "change": f[0], "from": f[2], "to": f[3]}
            for f in span.fields("e")
            if len(f) > 3
        ],
    }


def _said(document: Annotated, span: Span) -> dict[str, Any]:
    text = html.unescape(_TAG.sub(" ", document.text[span.start : span.end]))
    return {"text": " ".join(text.split()), "line": _line(document, span)}


def _line(document: Annotated, span: Span) -> int:
    return document.text.count("\n", 0, span.start) + 1
