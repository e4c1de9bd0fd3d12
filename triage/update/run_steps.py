"""The steps of an update day, made from the assessment, the plan, the kit and the policy."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from triage.domain.advice import Assessment, Recheck, Told
from triage.domain.kit import Job, Kit, Move, Plan, Unit
from triage.domain.notes import InstructionKind as Asked
from triage.domain.policy import Policy
from triage.domain.update_run import Detail, Needs, Stage, Step
from triage.kit import installed
from triage.update.update_tables import Steps, Words, calibrations
from triage.update.update_tables import steps as shipped

_FLIES = frozenset({"aircraft", "flight-controller", "esc-motor"})


class RunBasis(NamedTuple):
    """All that the steps are made of; `title` names the release."""

    title: str
    assessment: Assessment
    plan: Plan
    kit: Kit
    policy: Policy


def steps_for(case: RunBasis) -> tuple[Step, ...]:
    """The steps, in the order they are to be taken."""
    return _Maker(case).all()


class _Maker:
    """Makes the steps of one case; every step knows which come before it."""

    def __init__(self, case: RunBasis) -> None:
        self.case = case
        self.words: Steps = shipped()
        self.units = {unit.label: unit for unit in case.kit.units}
        self.moves = sorted(case.plan.moves, key=lambda move: move.step)
        self.moving = tuple(dict.fromkeys(move.unit for move in self.moves))
        self.flies = any(self._component(label) in _FLIES for label in self.moving)
        self.through = self._looked_through() if self.flies else ()

    def all(self) -> tuple[Step, ...]:
        before = list(self._before())
        first = tuple(step.id for step in before)
        units = list(self._units(first))
        return (*before, *units, *self._after(units))

    # --- before

    def _before(self) -> Iterable[Step]:
        told = self._told(Asked.WARNING, Asked.OTHER, Asked.UPDATE_FIRST)
        yield self._step("notes", Stage.BEFORE, self.words.before["notes"], details=told)
        if stops := self._stops():
            yield self._step("settled", Stage.BEFORE, self.words.before["settled"], details=stops)
        about = self._told(Asked.BACK_UP, Asked.SETTINGS_RESET)
        for label in self._with_settings():
            yield self._step(
                f"settings-{label}",
                Stage.BEFORE,
                self.words.before["settings"],
                label,
                details=about,
                needs=Needs.BEFORE,
            )
        yield self._step(
            "charge",
            Stage.BEFORE,
            self.words.before["charge"],
            details=self._told(Asked.CHARGE),
            mends="charge",
            needs=Needs.CHARGE,
        )
        yield self._step("link", Stage.BEFORE, self.words.before["link"], mends="link")
        if any(unit.component == "app" for unit in self.case.kit.units) or self.flies:
            yield self._step("phone", Stage.BEFORE, self.words.before["phone"])
        way = self.words.before["way-back"]
        yield self._step("way-back", Stage.BEFORE, way, details=self._ways_back())
        yield self._step("time", Stage.BEFORE, self.words.before["time"], details=self._jobs())

    def _stops(self) -> list[Detail]:
        plan = self.case.plan
        return [
            Detail(
                text=_sentence(unmet.reason), source=f"notes, line {unmet.requirement.place.line}"
            )
            for unmet in (*plan.blocks, *plan.left_behind, *plan.unchecked)
        ]

    def _with_settings(self) -> list[str]:
        return [m for m in self.moving if self._component(m) in self.words.settings_of]

    def _ways_back(self) -> list[Detail]:
        lines = self._told(Asked.NO_WAY_BACK)
        for label in self.moving:
            unit = self.units.get(label)
            known = unit.reversible if unit else None
            says = {
                True: f"{label} can go back to an earlier version.",
                False: f"{label} cannot go back: what the update changes stays changed.",
                None: f"Whether {label} can go back is not stated: find out.",
            }[known]
            lines.append(Detail(text=says, source="kit"))
        return lines

    def _jobs(self) -> list[Detail]:
        day, within = self.case.assessment.day, self.case.policy.job_days
        soon = [j for j in self.case.kit.jobs if day <= j.day <= day + dt.timedelta(days=within)]
        return [Detail(text=f"Promised: {_job(job)}.", source="kit") for job in soon]

    # --- the units

    def _units(self, first: tuple[str, ...]) -> Iterable[Step]:
        """In the solved order; batteries last, as they take theirs through the aircraft."""
        passed: dict[int, tuple[str, ...]] = {0: first}
        for move in (m for m in self.moves if not self._rotated(m)):
            earlier = max(step for step in passed if step < move.step)
            made = self._moved(move, passed[earlier])
            yield from made
            passed[move.step] = (*passed.get(move.step, ()), made[-1].id)
        ready = passed[max(passed)]
        last = dict.fromkeys(self.units, ready)
        for label in self.through:
            if self._component(label) not in self.words.rotated:
                yield self._seen_through(label, ready)
        for move in filter(self._rotated, self.moves):
            (step,) = self._moved(move, last.get(move.unit, ready))
            last[move.unit] = (step.id,)
            yield step
        for label in self.through:
            if self._component(label) in self.words.rotated:
                yield self._seen_through(label, ready)

    def _moved(self, move: Move, after: tuple[str, ...]) -> list[Step]:
        name = "back" if move.back else "update"
        details = [Detail(text=self._way(move), source=self.words.status)]
        line = move.requirement.place.line if move.requirement else 0
        source = f"notes, line {line}" if line else "plan"
        details.append(Detail(text=f"Because: {_sentence(move.reason)}", source=source))
        if move.release is None and move.version:
            details.append(self._own("elsewhere"))
        if not move.version:
            details.append(self._own("newest"))
        id = f"{move.unit}-{move.version or 'newest'}"
        update = self._step(
            f"{name}-{id}",
            Stage.UNITS,
            self.words.units[name],
            move.unit,
            details=details,
            mends="update",
            move=move,
            after=after,
        )
        read = self._step(
            f"version-{id}",
            Stage.UNITS,
            self.words.units["version"],
            move.unit,
            mends="version",
            needs=Needs.VERSION,
            move=move,
            after=(update.id,),
            owed=True,
        )
        if not self._rotated(move):
            return [update, read]
        details = [*self._told(Asked.EACH_UNIT), *details]
        return [
            self._step(
                f"rotate-{id}",
                Stage.UNITS,
                self.words.units["rotate"],
                move.unit,
                details=details,
                mends="rotate",
                needs=Needs.VERSION,
                move=move,
                after=after,
                owed=True,
            )
        ]

    def _seen_through(self, label: str, after: tuple[str, ...]) -> Step:
        rotated = self._component(label) in self.words.rotated
        name = "rotate" if rotated else "through"
        return self._step(
            f"{name}-{label}",
            Stage.UNITS,
            self.words.units[name],
            label,
            details=self._told(Asked.EACH_UNIT) if rotated else (),
            mends="rotate" if rotated else "version",
            needs=Needs.VERSION,
            unmoved_ok=True,
            after=after,
            owed=rotated,
        )

    def _looked_through(self) -> tuple[str, ...]:
        """Batteries and peripherals that the plan does not move, batteries last."""
        rest = [u for u in self.case.kit.units if u.label not in self.moving]
        peripherals = [u.label for u in rest if u.component in self.words.peripherals]
        return (*peripherals, *(u.label for u in rest if u.component in self.words.rotated))

    def _way(self, move: Move) -> str:
        component = self._component(move.unit)
        ways = self.words.way
        if move.back:
            return ways["back"]
        if component in self.words.software:
            return ways["software"]
        if component in self.words.rotated:
            return ways["rotated"]
        desktop = next((u for u in self.case.kit.units if u.component == "desktop"), None)
        return (
            ways["wired"].format(desktop=desktop.name or desktop.label) if desktop else ways["air"]
        )

    # --- after

    def _after(self, units: Sequence[Step]) -> Iterable[Step]:
        main = tuple(s.id for s in units if s.needs is Needs.VERSION and not _is_rotation(s))
        restart = self._step(
            "restart",
            Stage.AFTER,
            self.words.after["restart"],
            details=self._told(Asked.RESTART),
            mends="version",
            after=main,
        )
        yield restart
        done = [restart.id]
        for label in self._with_settings():
            step = self._step(
                f"compare-{label}",
                Stage.AFTER,
                self.words.after["settings"],
                label,
                details=self._told(Asked.SETTINGS_RESET),
                mends="settings",
                needs=Needs.AFTER,
                after=(restart.id,),
            )
            done.append(step.id)
            yield step
        if checks := [*self._told(Asked.RECHECK), *map(_recheck, self.case.assessment.recheck)]:
            words = self.words.after["recheck"]
            yield self._step("recheck", Stage.AFTER, words, details=checks, after=(restart.id,))
            done.append("recheck")
        for step in self._calibrations(restart.id):
            done.append(step.id)
            yield step
        if self.flies or any(self._component(m) not in self.words.software for m in self.moving):
            bench = self.words.after["bench"]
            yield self._step("bench", Stage.AFTER, bench, mends="bench", after=tuple(done))
            hover = self.words.after["hover"]
            yield self._step("hover", Stage.AFTER, hover, mends="hover", after=("bench",))

    def _calibrations(self, restart: str) -> Iterable[Step]:
        asked: dict[str, tuple[str, list[Detail]]] = {}
        for told in self._told(Asked.CALIBRATE):
            known = [c for c in calibrations() if _speaks_of(told.text, c.words)]
            for one in known:
                lines = asked.setdefault(
                    one.id, (one.name, [Detail(text=one.how, source=one.status)])
                )
                lines[1].append(told)
            if not known:
                asked.setdefault("other", ("as the notes say", []))[1].append(told)
        for id, (name, about) in asked.items():
            words = self.words.after["calibrate"]
            yield self._step(
                f"calibrate-{id}",
                Stage.AFTER,
                words,
                name=name,
                details=about,
                mends="calibrate",
                after=(restart,),
            )

    # --- parts

    def _step(
        self,
        id: str,
        stage: Stage,
        words: Words,
        unit: str = "",
        *,
        name: str = "",
        details: Sequence[Detail] = (),
        mends: str = "other",
        needs: Needs = Needs.NOTHING,
        move: Move | None = None,
        unmoved_ok: bool = False,
        after: tuple[str, ...] = (),
        owed: bool = False,
    ) -> Step:
        had = (move.installed if move else "") or self._installed(unit)
        # templates are filled by name only, so that a brace in a name does no harm
        filled = {
            "unit": unit,
            "name": name,
            "installed": had or "version not known",
            "target": (move.version if move else "") or "the newest version",
            "charge": str(self.case.policy.min_charge),
            "policy": self.case.policy.name,
            "count": _count(len((*self.moving, *self.through))),
            "title": self.case.title,
        }
        own = [Detail(text=t.format(**filled), source=self.words.status) for t in words.details]
        usual = [Detail(text=t, source=self.words.status) for t in self.words.mends[mends]]
        retry = self._told(Asked.RETRY) if mends in ("update", "rotate", "version") else []
        return Step(
            id=id,
            stage=stage,
            title=words.title.format(**filled),
            details=tuple(dict.fromkeys((*own, *details))),
            mends=(*retry, *usual),
            needs=needs,
            unit=unit,
            installed=had,
            target=move.version if move else "",
            unmoved_ok=unmoved_ok,
            after=after,
            owed=owed,
        )

    def _told(self, *kinds: Asked) -> list[Detail]:
        wanted = {kind.value for kind in kinds}
        return [_quoted(t) for t in self.case.assessment.instructions if t.kind in wanted]

    def _own(self, way: str) -> Detail:
        return Detail(text=self.words.way[way], source=self.words.status)

    def _component(self, label: str) -> str:
        return self.units[label].component if label in self.units else ""

    def _installed(self, label: str) -> str:
        unit: Unit | None = self.units.get(label)
        return installed(self.case.kit, unit)[0] if unit else ""

    def _rotated(self, move: Move) -> bool:
        return self._component(move.unit) in self.words.rotated


def _is_rotation(step: Step) -> bool:
    return step.id.startswith("rotate-")


def _quoted(told: Told) -> Detail:
    return Detail(text=told.text, source=f"notes, line {told.line}")


def _recheck(recheck: Recheck) -> Detail:
    items = ", ".join(f"{p.ref} (line {p.line})" for p in recheck.pointers[:4])
    source = f"notes, item {items}" if items else "assessment"
    return Detail(text=recheck.how or recheck.why, source=source)


def _speaks_of(text: str, words: Iterable[str]) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", text, re.IGNORECASE) for word in words)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _job(job: Job) -> str:
    return f"{job.day.isoformat()} {job.what}".strip()


def _count(units: int) -> str:
    return "one unit" if units == 1 else f"{units} units"
