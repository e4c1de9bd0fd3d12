"""What goes with the advice: settings to recheck, the maker's words, cautions, assumptions."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from triage.advice import tables
from triage.advice.ground import release_day
from triage.advice.hazards import Case
from triage.advice.items_matrix import Entry
from triage.advice.words import count_of
from triage.domain.advice import Assumption, Caution, Evidence, Recheck, Told, Verdict
from triage.domain.judged import Standing
from triage.domain.kinds import Kind
from triage.domain.kit import Kit
from triage.domain.notes import InstructionKind, Status
from triage.domain.policy import Policy
from triage.reference.vocabulary import settings

_RECHECKED = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY)


def _may(entry: Entry, kinds: Iterable[Kind]) -> bool:
    return any(entry.item.judgement(kind).standing is not Standing.NO for kind in kinds)


def recheck(case: Case, recorded: Mapping[str, str]) -> tuple[Recheck, ...]:
    """Settings that a change touches, in the order of how much they matter in the air."""
    touched: dict[str, list[Entry]] = {}
    for entry in case.entries:
        found = [effect.setting_id for effect in entry.item.item.effects if effect.setting_id]
        if _may(entry, _RECHECKED):
            found += [find.id for find in entry.item.finds.settings]
        for id in dict.fromkeys(found):
            touched.setdefault(id, []).append(entry)
    return tuple(
        Recheck(
            setting=setting.id,
            name=setting.name,
            why=f"touched by {count_of(len(touched[setting.id]), 'change')}",
            how=setting.recheck,
            pointers=tuple(entry.pointer for entry in touched[setting.id]),
            recorded=recorded.get(setting.id, ""),
        )
        for setting in settings()
        if setting.id in touched
    )


def told(case: Case, *, requirements: bool) -> tuple[Told, ...]:
    """The maker's instructions, or requirements, of all releases that come together.

    What a withdrawn release on the way says of itself ('do not install') is not about the move.
    """
    found: dict[tuple[str, str], Told] = {}
    for release in case.path:
        if release.status is Status.WITHDRAWN and release is not case.release:
            continue
        if requirements:
            rows = [(r.comparison.value, r.text, r.place.line) for r in release.requirements]
        else:
            rows = [(i.kind.value, i.text, i.place.line) for i in release.instructions]
        for kind, text, line in rows:
            found.setdefault((kind, text), Told(kind=kind, text=text, line=line))
    return tuple(found.values())


def _conditions(case: Case, kit: Kit, verdict: Verdict, settings_touched: bool) -> set[str]:
    told_kinds = {i.kind for release in case.path for i in release.instructions}
    flight = any(_may(entry, (Kind.FLIGHT_BEHAVIOUR,)) for entry in case.entries)
    motors = any(f.id == "motor-drive" for entry in case.entries for f in entry.flight)
    batteries = any(unit.component == "battery" for unit in kit.units)
    holds = {
        "always": True,
        "update": verdict is Verdict.UPDATE,
        "settings": settings_touched or InstructionKind.SETTINGS_RESET in told_kinds,
        "flight": flight,
        "motors": flight and motors,
        "battery": batteries and case.release.component in ("aircraft", "battery"),
        "no-way-back": case.way_back is False,
        "preview": case.release.status in (Status.ALPHA, Status.BETA, Status.CANDIDATE),
        "steps": len(case.path) > 1,
    }
    return {name for name, value in holds.items() if value}


def cautions(
    case: Case | None, kit: Kit, verdict: Verdict, settings_touched: bool
) -> tuple[Caution, ...]:
    """The standing words of care that apply."""
    when = _conditions(case, kit, verdict, settings_touched) if case else {"always"}
    return tuple(Caution(id=r.id, text=r.text) for r in tables.caution_rows() if r.when in when)


_OPENED = {
    "change": "changes",
    "compatibility": "compatibility",
    "fix": "fixes",
    "unnamed": "changes nobody named",
}


def _priors(prior: tables.PriorTable) -> tuple[bool, str, str]:
    """Which priors do not stand as shipped, and from how many flights."""
    records = [(_OPENED[name], row.own) for name, row in prior.rows.items() if row.own is not None]
    used = [
        f"{name} from {count_of(own.problems, 'problem')} in {count_of(own.flights, 'flight')}"
        for name, own in records
        if own.used
    ]
    few = [f"{name} ({own.flights:,})" for name, own in records if not own.used]
    as_shipped = f"too few flights of your own to tell for {', '.join(few)}: as shipped"
    if used:
        rest = f"; {as_shipped}" if few else ""
        return (
            True,
            f"the priors start from your own record: {', '.join(used)}{rest}",
            "compare with the advice without it: the record is of updates you chose, so it may"
            " look better than releases are",
        )
    if few:
        return (True, f"priors: {as_shipped}", "record outcomes with the flights they speak for")
    return (True, "the priors are not the shipped ones", "start from the shipped ones")


def assumptions(
    case: Case | None,
    kit: Kit,
    policy: Policy,
    evidence: Sequence[Evidence],
    today: dt.date,
    prior: tables.PriorTable | None = None,
) -> tuple[Assumption, ...]:
    """What was assumed for want of knowledge, and how to do better."""
    rows: list[tuple[bool, str, str]] = [
        (
            kit.assumed,
            "no kit on file: one aircraft, everything in the notes taken as yours",
            "list your units in the kit",
        ),
        (
            kit.assumed or any(not unit.version for unit in kit.units),
            "installed version not known: all releases of the notes taken as still to come",
            "enter the installed version in the kit",
        ),
        (
            not kit.functions and not any(unit.functions for unit in kit.units),
            "you use every function",
            "name the functions you rely on in the kit",
        ),
        (
            not kit.needs,
            "no needs stated: any new capability outside display and app counts as some gain",
            "write what you need in the kit, in your own words",
        ),
    ]
    if prior is not None:
        rows.append(_priors(prior))
    if case is not None:
        rows += _of_case(case, evidence, today)
    return tuple(Assumption(text=text, mend=mend) for holds, text, mend in rows if holds)


def _of_case(
    case: Case, evidence: Sequence[Evidence], today: dt.date
) -> list[tuple[bool, str, str]]:
    date = case.release.date
    two = date is not None and date.or_else is not None
    read = release_day(date, today)
    return [
        (
            not case.days_known,
            "date of release not known: counted from the day the notes or a clean report of it"
            " were first seen",
            "record a field report with its date, or take notes that carry the date",
        ),
        (
            two,
            f"the date '{date.text if date else ''}' reads two ways: taken as {read}",
            "check the date with the maker",
        ),
        (
            not evidence,
            "no field reports recorded: the chances rest on assumed priors and days gone by",
            "record what you see in the field",
        ),
        (
            len(case.path) > 1,
            "every fix that names no version is taken to mend a defect of the installed one",
            "read which versions a fix names, and settle its item where yours is not named",
        ),
        (
            case.way_back is None,
            "not known whether the version can be taken back: taken as possible",
            "enter it in the kit",
        ),
    ]
