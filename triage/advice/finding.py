"""A candidate judged: the ruling, and the day on which it may be moved to."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from triage.advice.change import Matter, first_days
from triage.advice.gain import gains
from triage.advice.risk import Outlook
from triage.advice.rule import Ruling
from triage.advice.stakes import Bools
from triage.advice.weigh import Case, blocked
from triage.domain.advice import Verdict
from triage.domain.kit import Kit
from triage.domain.policy import Policy


@dataclass(frozen=True)
class Finding:
    """`blocking` says why it cannot be installed, or ''.

    `wait_days` is how long until the advice turns by itself, `within_days` how long until moving
    is within the policy though too little may be gained; None where no wait does it.
    """

    matter: Matter
    ruling: Ruling
    blocking: str
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


def find(case: Case, kit: Kit, met: Bools, policy: Policy, today: dt.date) -> Finding:
    """Judge one candidate on a day; `met` is needs x items of the case."""
    distances = tuple(sorted((job.day - today).days for job in kit.jobs))
    outlook = Outlook(shift=np.zeros(1), job_distance=distances)
    matter = Matter(case, policy, outlook, gains(case, met))
    ruling = matter.rule()
    if ruling.update[0]:
        return Finding(matter, ruling, "", 0, 0)
    return Finding(matter, ruling, blocked(case), *first_days(matter))
