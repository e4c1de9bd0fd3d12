"""A candidate judged: the ruling, and the day on which it may be moved to."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from triage.advice.chance import Outlook
from triage.advice.first_questions import Facts, Said, presses, stops
from triage.advice.gain import gains
from triage.advice.hazards import Case
from triage.advice.rule import Ruling, standing_of
from triage.advice.what_if import Matter, first_days
from triage.domain.advice import Verdict
from triage.domain.policy import Policy


@dataclass(frozen=True)
class Evaluation:
    """`stopped` is the first question that rules it out, `pressed` the one that forces it.

    `wait_days` is how long until the advice turns by itself, `within_days` how long until moving
    is within the policy though too little may be gained; None where no wait does it.
    """

    matter: Matter
    ruling: Ruling
    stopped: Said | None
    pressed: Said | None
    wait_days: int | None
    within_days: int | None

    @property
    def verdict(self) -> Verdict:
        """The advice for this candidate."""
        return Verdict.UPDATE if bool(self.ruling.update[0]) else Verdict.WAIT

    @property
    def case(self) -> Case:
        """What was weighed."""
        return self.matter.case

    @property
    def label(self) -> str:
        """The release as a person calls it."""
        return self.case.release.version or self.case.release.title or "this release"

    def until(self, today: dt.date) -> dt.date | None:
        """The day on which the advice turns by itself; None now, or where no wait helps."""
        return None if not self.wait_days else today + dt.timedelta(days=self.wait_days)

    @property
    def due(self) -> float | None:
        """The last good day before a deadline, in days from today."""
        return None if self.stopped else self.matter.standing.last_day


def matter_of(facts: Facts, policy: Policy) -> Matter:
    """A candidate ready to be judged."""
    today = facts.ground.today
    distances = tuple(sorted((job.day - today).days for job in facts.case.kit.jobs))
    outlook = Outlook(shift=np.zeros(1), job_distance=distances)
    found = gains(facts.case, facts.conflicts)
    return Matter(facts, standing_of(facts, distances), policy, outlook, found)


def evaluate(facts: Facts, policy: Policy) -> Evaluation:
    """Judge one candidate on a day."""
    matter = matter_of(facts, policy)
    ruling, stopped, pressed = matter.rule(), stops(facts), presses(facts)
    if ruling.update[0]:
        return Evaluation(matter, ruling, None, pressed, 0, 0)
    return Evaluation(matter, ruling, stopped, pressed, *first_days(matter))
