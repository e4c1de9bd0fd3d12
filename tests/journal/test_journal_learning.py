"""What the decisions teach, counted by hand and against reference libraries."""

from __future__ import annotations

import datetime as dt
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta, binomtest
from sklearn.calibration import calibration_curve

from tests.journal import making
from tests.journal.making import UPDATE, WAIT, advised, ahead, case, outcome
from triage.advice.tables import priors
from triage.domain.advice import OwnRecord
from triage.domain.journal import Opener, Result
from triage.journal.base_rates import flights_of, own_priors, record_of, with_flights
from triage.journal.journal_tables import learning
from triage.journal.learning import stats
from triage.journal.share_interval import clopper_pearson, share_of


def test_the_exact_interval_of_four_in_twenty() -> None:
    """Source: Clopper-Pearson 4/20 in the Geigy tables, .0573 to .4366."""
    low, high = clopper_pearson(4, 20, 0.95)
    assert (round(low, 4), round(high, 4)) == (0.0573, 0.4366)


@given(of=st.integers(1, 3000), data=st.data())
def test_the_exact_interval_against_scipy(of: int, data: st.DataObject) -> None:
    """Source: scipy.stats.binomtest(...).proportion_ci(method='exact')."""
    hits = data.draw(st.integers(0, of))
    reference = binomtest(hits, of).proportion_ci(0.95, method="exact")
    assert clopper_pearson(hits, of, 0.95) == pytest.approx(tuple(reference), abs=1e-8)


def test_none_of_nothing_and_impossible_counts() -> None:
    nothing = share_of(0, 0)
    assert (nothing.low, nothing.high, nothing.share, nothing.tells) == (0.0, 1.0, 0.0, False)
    with pytest.raises(ValueError, match="between 0 and"):
        clopper_pearson(3, 2, 0.95)


def test_the_reason_stated_for_ten_outcomes() -> None:
    """'With none in 10 gone wrong the interval still reaches 31 %': 1 - .025 ** (1 / 10)."""
    assert learning().least_outcomes == 10
    assert share_of(0, 10).high == pytest.approx(1 - 0.025**0.1)
    assert round(100 * share_of(0, 10).high) == 31 and share_of(0, 10).tells


def test_followed_and_overruled() -> None:
    well, back = outcome(), outcome(result=Result.PROBLEM, went_back=True, severity=2)
    cases = [
        case(1, outcomes=(well,)),
        case(2, outcomes=(well, back)),
        case(3),
        case(4, choice=WAIT, outcomes=(well,)),
        case(5, brief=advised(WAIT), choice=WAIT),
        case(6, brief=advised(WAIT), choice=UPDATE, outcomes=(back,)),
    ]
    found = stats(cases)
    rows = {
        (r.followed, r.updated): (r.decisions, r.well, r.problem, r.went_back, r.open)
        for r in found.rows
    }
    assert rows == {
        (True, True): (3, 1, 1, 1, 1),
        (True, False): (1, 0, 0, 0, 1),
        (False, True): (1, 0, 1, 1, 0),
        (False, False): (1, 1, 0, 0, 0),
    }
    assert found.decisions == 6 and (found.certainty.hits, found.certainty.of) == (1, 2)
    assert not found.certainty.tells and not found.rows[0].problems.tells


def test_reliability_against_scikit_learn() -> None:
    """Source: sklearn.calibration.calibration_curve with ten equal bins over [0, 1]."""
    chance = random.Random(5)
    cases, stated, held = [], [], []
    for n in range(400):
        share = chance.uniform(0.3, 0.999)  # on an edge itself the two part company
        good = chance.random() < share
        result = Result.WELL if good else Result.PROBLEM
        cases.append(case(n + 1, brief=advised(share=share), outcomes=(outcome(result=result),)))
        stated.append(share)
        held.append(good)
    found = stats(cases)
    observed, mean = calibration_curve(held, stated, n_bins=10, strategy="uniform")
    assert [g.held.share for g in found.groups] == pytest.approx(list(observed))
    assert [g.stated for g in found.groups] == pytest.approx(list(mean))
    assert found.certainty.tells and found.certainty.of == 400
    assert all(g.held.low <= g.held.share <= g.held.high for g in found.groups)


def test_overruled_advice_says_nothing_of_the_certainty() -> None:
    cases = [case(n, choice=WAIT, outcomes=(outcome(),)) for n in range(1, 40)]
    assert stats(cases).certainty.of == 0 and stats(cases).groups == ()


def test_days_waited_and_what_waiting_avoided() -> None:
    def on(days: int) -> dt.date:
        return making.DAY + dt.timedelta(days=days)

    first = (ahead("3.6.0"), ahead("3.5.1", trouble=1))
    second = (ahead("3.6.0", trouble=4), ahead("3.5.1", trouble=1))
    third = (ahead("3.6.0", trouble=4, withdrawn=True), ahead("3.6.1"))
    words = outcome(avoided="a landing in the gutter")
    waits = [
        case(1, brief=advised(WAIT, releases=first), choice=WAIT, day=on(0), outcomes=(words,)),
        case(2, brief=advised(WAIT, releases=second), choice=WAIT, day=on(6)),
        case(3, brief=advised(releases=third), day=on(20)),
        case(4, brief=advised(WAIT), choice=WAIT, day=on(30)),
        case(5, day=on(34)),
        case(6, brief=advised(WAIT, units=("visor",)), choice=WAIT, day=on(40)),
        case(7, day=on(41), pilot="another"),
    ]
    waiting = stats(waits).waiting
    assert (waiting.over, waiting.still, waiting.longest) == (2, 1, 20)
    assert waiting.histogram == ((4, 1), (20, 1)) and waiting.median == 12
    assert [(a.seq, a.version, a.users, a.withdrawn, a.words) for a in waiting.avoided] == [
        (1, "", 0, False, "a landing in the gutter"),
        (2, "3.6.0", 4, False, ""),
        (3, "3.6.0", 0, True, ""),
    ]


def test_own_base_rates_by_hand() -> None:
    opened = {Opener.CHANGE: ("landing", "return-home"), Opener.FIX: ("gimbal",)}
    brief = advised(opened=opened)
    trouble = outcome(result=Result.PROBLEM, function="return-home", flights=100)
    other = outcome(result=Result.PROBLEM, function="camera", flights=20)
    cases = [
        case(1, brief=brief, outcomes=(outcome(flights=300),)),
        case(2, brief=brief, outcomes=(trouble,)),
        case(3, outcomes=(other,)),
        case(4, brief=brief, choice=WAIT, outcomes=(outcome(flights=9000),)),
        case(5, brief=brief, outcomes=(outcome(),)),
    ]
    rates = {r.opener: (r.problems.hits, r.problems.of) for r in stats(cases).rates}
    assert rates == {
        "change": (1, 800), "fix": (0, 400), "compatibility": (0, 0), "unnamed": (1, 420),
    }  # fmt: skip


def test_own_priors_are_the_posterior_mean_of_the_advice() -> None:
    """Source: the mean of scipy.stats.beta(a + k, n - a + m - k), the conjugate posterior."""
    opened = {Opener.CHANGE: ("landing",)}
    calm = [
        case(n, brief=advised(opened=opened), outcomes=(outcome(flights=400),)) for n in range(1, 6)
    ]
    trouble = outcome(result=Result.PROBLEM, function="landing", flights=10)
    cases = [*calm, case(9, brief=advised(opened=opened), outcomes=(trouble,))]
    shipped = priors().prior
    rates = stats(cases).rates
    own = own_priors(rates, shipped)
    a, n, k, m = shipped.shape, shipped.change.flights, 1, 2010
    assert a / own.change.flights == pytest.approx(beta(a + k, n - a + m - k).mean())
    assert own.shape == shipped.shape
    assert own.fix.flights == shipped.fix.flights  # no flights: as shipped
    assert own.fix.own == OwnRecord(problems=0, flights=0, used=False)
    assert "1 problems in 2010 flights" in own.change.reason
    kept = flights_of(own)
    assert set(kept) == {"change", "unnamed"}
    again = with_flights(shipped, kept, record_of(own))
    assert again is not None
    for name, row in own.rows.items():
        assert (again.rows[name].flights, again.rows[name].own) == (row.flights, row.own)
    assert with_flights(shipped, {}, {}) is None


def test_few_flights_leave_the_priors_as_shipped() -> None:
    cases = [
        case(1, brief=advised(opened={Opener.FIX: ("gimbal",)}), outcomes=(outcome(flights=99),))
    ]
    own = own_priors(stats(cases).rates, priors().prior)
    assert flights_of(own) == {} and own.fix.own == OwnRecord(problems=0, flights=99, used=False)
    assert [r.flights for r in own.rows.values()] == [
        r.flights for r in priors().prior.rows.values()
    ]


@given(k=st.integers(0, 50), m=st.integers(100, 10_000))
def test_more_trouble_never_lowers_the_prior(k: int, m: int) -> None:
    def mean(problems: int) -> float:
        cases = [
            case(
                n + 1,
                outcomes=(
                    outcome(
                        result=Result.PROBLEM if n < problems else Result.WELL,
                        flights=m if n == 0 else None,
                    ),
                ),
            )
            for n in range(max(1, problems))
        ]
        table = own_priors(stats(cases).rates, priors().prior)
        return table.shape / table.unnamed.flights

    assert 0 < mean(k) <= mean(k + 1) < 1
