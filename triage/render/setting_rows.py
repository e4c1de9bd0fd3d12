"""The operator's own settings that a release touches, as points or as a table."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.setting_changes import Do, Says, SettingRow
from triage.render.outline import Paragraph, Point, Points, Section, Table
from triage.settings.setting_values import value_words

TITLE = "Your settings"
_SILENT = "Notes name only part of what changes: compare all settings after the update."
HEAD = ("Setting", "Yours", "The notes say", "Expect", "Do", "Line")


def in_points(rows: Sequence[SettingRow], few: int | None = None) -> list[Section]:
    """One point a setting, at most `few`; the rest counted."""
    if not rows:
        return [Section(title=TITLE, blocks=(Paragraph(text=f"None is named. {_SILENT}"),))]
    points = tuple(Point(text=_sentence(row), source=lines_of(row)) for row in rows[:few])
    blocks: list[Paragraph | Points | Table] = [*_first(rows), Points(points=points)]
    if few is not None and len(rows) > few:
        blocks.append(Paragraph(text=f"{len(rows) - few} more: triage settings changes."))
    blocks.append(Paragraph(text=_SILENT))
    return [Section(title=TITLE, blocks=tuple(blocks))]


def in_table(rows: Sequence[SettingRow]) -> list[Section]:
    """All rows as a table, with what to write down first where nothing is recorded."""
    if not rows:
        return [Section(title=TITLE, blocks=(Paragraph(text=f"None is named. {_SILENT}"),))]
    table = Table(head=HEAD, rows=tuple(_cells(row) for row in rows))
    blocks = (*_first(rows), table, *_because(rows), Paragraph(text=_SILENT))
    return [Section(title=TITLE, blocks=blocks)]


def lines_of(row: SettingRow) -> str:
    """'item 7 (line 26), line 48'."""
    found = [f"item {s.ref} (line {s.line})" if s.ref else f"line {s.line}" for s in row.said]
    return ", ".join(dict.fromkeys(found))


def expected(row: SettingRow) -> str:
    """The value to expect, 'gone', or that none is stated."""
    if row.gone:
        return "gone"
    words = " or ".join(value_words(value) for value in row.expected) or "not stated"
    return f"{words}, as {row.new_name}" if row.new_name else words


def to_do(row: SettingRow) -> str:
    """What to do, with the value."""
    own = value_words(row.own.value) if row.own else ""
    match row.do:
        case Do.WRITE_DOWN:
            return "write down before updating"
        case Do.SET_AGAIN:
            return f"set again to {own}"
        case Do.LOOK_AT:
            return "look at it"
    if row.gone:
        return "decide what takes its place"
    if row.outside:
        return "decide on a value in the range"
    return f"decide: {own} again or the new one" if own else "decide how to set it"


def says(row: SettingRow) -> str:
    """What the notes say, the releases in their order."""
    behaves = [s for s in row.said if s.says is Says.BEHAVES]
    words = [s.words for s in row.said if s.says is not Says.BEHAVES]
    if behaves:
        more = f" and {len(behaves) - 1} more" if len(behaves) > 1 else ""
        words.append(f"behaves differently: {behaves[0].words.rstrip('.')}{more}")
    return "; then ".join(words)


def _first(rows: Sequence[SettingRow]) -> tuple[Paragraph, ...]:
    missing = [row.name for row in rows if row.do is Do.WRITE_DOWN]
    if not missing:
        return ()
    text = f"Not recorded yet; write down before updating, in this order: {', '.join(missing)}."
    return (Paragraph(text=text, strong=True),)


def _sentence(row: SettingRow) -> str:
    own = value_words(row.own.value) if row.own else "not recorded"
    text = f"{row.name}: yours {own}; the notes: {says(row)}; expect {expected(row)}; {to_do(row)}."
    return f"{text} {_capital(row.outside)}." if row.outside else text


def _cells(row: SettingRow) -> tuple[str, ...]:
    own = value_words(row.own.value) if row.own else "-"
    lines = ", ".join(dict.fromkeys(str(s.line) for s in row.said))
    return (row.name, own, says(row), expected(row), to_do(row), lines)


def _because(rows: Sequence[SettingRow]) -> tuple[Points, ...]:
    points = [
        Point(text=f"{row.name}: {'; '.join(filter(None, (row.outside, row.because)))}.")
        for row in rows
        if row.outside or (row.because and row.own)
    ]
    return (Points(points=tuple(points)),) if points else ()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
