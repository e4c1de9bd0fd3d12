"""What the steps of an update day are written with: kit, notes and templates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from triage.domain.advice import Told
from triage.domain.kit import Kit, Move, Unit
from triage.domain.notes import InstructionKind as Asked
from triage.domain.policy import Policy
from triage.domain.setting_changes import SettingRow
from triage.domain.update_run import Detail, Stage, Step
from triage.kit import installed
from triage.update.flight_tests import FlightTest
from triage.update.update_tables import Steps, Words
from triage.update.update_tables import steps as shipped

FLIES = frozenset({"aircraft", "flight-controller", "esc-motor"})


class RunBasis(NamedTuple):
    """All that the steps are made of.

    `title` names the release or releases, `moves` is the plan in its order, `stops` what stands in
    its way. `told` is what the notes of each unit that moves tell to do, by label; `jobs` are those
    that wait behind the update. `rows` are the settings touched, `tests` those made necessary.
    `first` is the unit that moves and flies before others like it, '' for none.
    """

    title: str
    moves: tuple[Move, ...]
    kit: Kit
    policy: Policy
    stops: tuple[Detail, ...] = ()
    jobs: tuple[Detail, ...] = ()
    told: Mapping[str, tuple[Told, ...]] = {}
    rows: tuple[SettingRow, ...] = ()
    tests: tuple[FlightTest, ...] = ()
    first: str = ""


class StepWriter:
    """Writes the steps of one case; every step knows which come before it."""

    def __init__(self, case: RunBasis) -> None:
        self.case = case
        self.words: Steps = shipped()
        self.units = {unit.label: unit for unit in case.kit.units}
        self.moves = sorted(case.moves, key=lambda move: move.step)
        self.moving = tuple(dict.fromkeys(move.unit for move in self.moves))
        self.flies = any(self.component(label) in FLIES for label in self.moving)
        self.through = self._looked_through() if self.flies else ()

    def _looked_through(self) -> tuple[str, ...]:
        """Peripherals and batteries that the plan does not move, batteries last."""
        rest = [u for u in self.case.kit.units if u.label not in self.moving]
        peripherals = [u.label for u in rest if u.component in self.words.peripherals]
        return (*peripherals, *(u.label for u in rest if u.component in self.words.rotated))

    def rotated(self, label: str) -> bool:
        """Whether a unit takes its update through the aircraft, one by one."""
        return self.component(label) in self.words.rotated

    def kept_back(self) -> frozenset[str]:
        """Units like the first one, which wait until that has flown."""
        first = self.units.get(self.case.first)
        if first is None:
            return frozenset()
        alike = [u for u in self.case.kit.units if u.component == first.component]
        return frozenset(u.label for u in alike) - {first.label}

    def component(self, label: str) -> str:
        """The vocabulary id of a unit's component, '' for one that is not in the kit."""
        return self.units[label].component if label in self.units else ""

    def installed(self, label: str) -> str:
        """The version that the kit says a unit has."""
        unit: Unit | None = self.units.get(label)
        return installed(self.case.kit, unit)[0] if unit else ""

    def with_settings(self) -> list[str]:
        """Units that move and have settings of their own."""
        return [m for m in self.moving if self.component(m) in self.words.settings_of]

    def told(self, *kinds: Asked, unit: str = "") -> list[Detail]:
        """What the notes tell of some kinds, of one unit or of all, each once."""
        wanted = {kind.value for kind in kinds}
        found: dict[tuple[str, int], list[str]] = {}
        for label, lines in self.case.told.items():
            for told in lines:
                if told.kind in wanted and unit in ("", label):
                    found.setdefault((told.text, told.line), []).append(label)
        return [Detail(text=text, source=f"notes, line {line}") for text, line in found]

    def own(self, way: str) -> Detail:
        """A line of the ways to update."""
        return Detail(text=self.words.way[way], source=self.words.status)

    def step(
        self,
        id: str,
        stage: Stage,
        words: Words,
        unit: str = "",
        *,
        name: str = "",
        details: Sequence[Detail] = (),
        mends: str = "other",
        move: Move | None = None,
        **more: Any,
    ) -> Step:
        """A step from its words.

        `name` fills {name}, `move` what it had and shall have; `more` are other fields of the step.
        """
        had = (move.installed if move else "") or self.installed(unit)
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
        retry = (
            self.told(Asked.RETRY, unit=unit) if mends in ("update", "rotate", "version") else []
        )
        return Step(
            id=id,
            stage=stage,
            title=words.title.format(**filled),
            details=tuple(dict.fromkeys((*own, *details))),
            mends=(*retry, *usual),
            unit=unit,
            installed=had,
            target=move.version if move else "",
            response=words.response.format(**filled),
            **{"ask": words.ask.format(**filled), **more},
        )


def sentence(text: str) -> str:
    """With its full stop."""
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _count(units: int) -> str:
    return "one unit" if units == 1 else f"{units} units"
