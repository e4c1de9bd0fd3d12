"""How the notes account for a difference in the settings, by value; and which differences ask.

A difference is expected only where the notes foretell this change of this setting to this value.
Return height, failsafe, limits and obstacle behaviour ask even then.
"""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.setting_changes import Said, Says, SettingRow
from triage.domain.snapshots import Account, Difference, DifferenceKind, Match, SettingEntry
from triage.settings.setting_names import plain
from triage.settings.setting_tables import care_of
from triage.settings.stated_values import same

_MOVES = (Says.RESET, Says.DEFAULT, Says.RANGE)


def accounted(difference: Difference, rows: Sequence[SettingRow]) -> Difference:
    """The difference with how the notes account for it, and whether it waits for an answer."""
    row = _row(difference, rows)
    account = _account(difference, row)
    entries = [e for e in (difference.before, difference.after) if e]
    critical = any(care_of(entry.setting) for entry in entries)
    guessed = difference.match is Match.GUESS and critical
    differs = difference.outcome is not DifferenceKind.SAME
    return difference.model_copy(
        update={
            "account": account,
            "foreseen": tuple(_words(said) for said in row.said) if row else (),
            "critical": critical,
            "asks": differs or guessed or bool(difference.question and critical),
        }
    )


def _row(difference: Difference, rows: Sequence[SettingRow]) -> SettingRow | None:
    entries = [e for e in (difference.before, difference.after) if e]
    names = {plain(e.name) for e in entries}
    found = [row for row in rows if names & {plain(name) for name in row.names}]
    fields = {e.field for e in entries if e.field}
    found = found or [row for row in rows if row.field and row.field in fields]
    found = found or [row for row in rows if row.name == "all settings" and row.own is None]
    return next(iter(found), None)


def _account(difference: Difference, row: SettingRow | None) -> Account:
    match difference.outcome:
        case DifferenceKind.GONE:
            return Account.EXPECTED if row and row.gone else Account.GONE
        case DifferenceKind.NEW:
            if row is None or not row.says(Says.ADDED):
                return Account.OFFERED
            return Account.EXPECTED if _foretold(difference.after, row) else Account.OTHER_VALUE
        case DifferenceKind.CHANGED:
            if row is None or not row.says(*_MOVES):
                return Account.UNANNOUNCED
            return Account.EXPECTED if _named(difference.after, row) else Account.OTHER_VALUE
    unmoved = row is not None and row.expected and not _named(difference.after, row)
    return Account.NOT_SEEN if unmoved or (row and row.gone) else Account.SAME


def _foretold(entry: SettingEntry | None, row: SettingRow) -> bool:
    """Whether a new setting stands as announced, or is announced without a value."""
    return not row.expected or _named(entry, row)


def _named(entry: SettingEntry | None, row: SettingRow) -> bool:
    return entry is not None and any(same(entry.value, value) for value in row.expected)


def _words(said: Said) -> str:
    item = f"item {said.ref}, " if said.ref else ""
    return f"{said.words} ({item}line {said.line})"
