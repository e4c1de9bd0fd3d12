"""What the journal teaches as an outline, with its plots, and the report for paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from triage.advice import tables
from triage.domain.journal import JournalEntry, Updated
from triage.journal.base_rates import own_priors
from triage.journal.history import PastDecision
from triage.journal.journal_tables import learning
from triage.journal.learning import Avoided, Row, Runs, Stats, Waiting
from triage.journal.record_update import moved
from triage.journal.share_interval import Share
from triage.render.journal import CHOICE, RESULT
from triage.render.journal_plots import days_waited, problem_shares, reliability
from triage.render.outline import Block, Figure, Outline, Paragraph, Point, Points, Section, Table


def learnt(stats: Stats, *, plots: bool = False) -> Outline:
    """What the decisions teach so far; `plots` only for a form that can draw them."""
    if not stats.decisions:
        nothing = Paragraph(text="It holds no decision yet.")
        return (Section(title="What the journal teaches", blocks=(nothing,)), *_runs(stats.runs))
    sections = (
        _how_it_went(stats.rows),
        _certainty(stats),
        *_waiting(stats.waiting),
        *_runs(stats.runs),
        _rates(stats),
    )
    return (
        Section(
            title="What the journal teaches",
            blocks=(
                Paragraph(
                    text=f"{stats.decisions} decisions, one for each group of like units. "
                    f"Intervals are exact (Clopper-Pearson) at "
                    f"{round(100 * learning().interval)} %."
                ),
            ),
            level=1,
        ),
        *(_drawn(section, plots) for section in sections),
    )


def _drawn(section: Section, plots: bool) -> Section:
    if plots:
        return section
    kept = tuple(block for block in section.blocks if not isinstance(block, Figure))
    return section.model_copy(update={"blocks": kept})


def _how_it_went(rows: Sequence[Row]) -> Section:
    named = [(f"{_did(row)}", row) for row in rows]
    table = Table(
        head=("Advice", "Decisions", "Well", "Problem", "Went back", "Open", "Problems"),
        rows=tuple(
            (
                name,
                *(str(n) for n in (r.decisions, r.well, r.problem, r.went_back, r.open)),
                _share(r.problems, learning().least_outcomes),
            )
            for name, r in named
        ),
    )
    figure = Figure(
        text="Share of decisions with a problem afterwards, of those with an outcome (their number "
        "in brackets).",
        svg=problem_shares(named),
    )
    why = (
        "What was followed and what was overruled are different cases: the difference shows what "
        "happened, not what the other choice would have brought."
    )
    return Section(title="Followed and overruled", blocks=(table, Paragraph(text=why), figure))


def _certainty(stats: Stats) -> Section:
    title = "How well the stated certainty held"
    least = learning().least_certainties
    explained = Paragraph(
        text="Only advice that was followed counts. The certainty states in which share of draws "
        "the advice stays the same, not the chance that all goes well; here the two are compared."
    )
    if not stats.certainty.tells:
        return Section(
            title=title, blocks=(explained, Paragraph(text=_few(stats.certainty.of, least)))
        )
    rows = tuple(
        (
            f"{g.low:.1f} to {g.high:.1f}",
            f"{g.stated:.2f}",
            f"{g.held.hits} of {g.held.of}",
            _share(g.held, learning().least_in_group),
        )
        for g in stats.groups
    )
    table = Table(head=("Stated", "Mean", "Held", "Share held"), rows=rows)
    whole = f"In all: stated {stats.stated:.2f} on average, held {_share(stats.certainty, least)}."
    figure = Figure(
        text="Each point is a group of followed advice; the line through it is its interval, and "
        "an empty point stands for too few to tell. On the dashed line it held as often as stated.",
        svg=reliability(stats.groups),
    )
    return Section(title=title, blocks=(explained, Paragraph(text=whole), table, figure))


def _waiting(waiting: Waiting) -> Iterator[Section]:
    if not waiting.over and not waiting.still:
        return
    text = f"{waiting.over} waits ended in an update, {waiting.still} still last."
    if waiting.median is not None:
        text += f" Days waited: {waiting.median:g} in the middle, {waiting.longest} at most."
    blocks: list[Block] = [Paragraph(text=text)]
    if waiting.histogram:
        days = ", ".join(f"{d} ({n})" for d, n in waiting.histogram[:20])
        more = "..." if len(waiting.histogram) > 20 else ""
        blocks.append(Paragraph(text=f"Days waited (how often): {days}{more}."))
        blocks.append(
            Figure(text="Waits by their length in days.", svg=days_waited(waiting.histogram))
        )
    if waiting.avoided:
        points = [Point(text=_avoided(a), source=f"entry {a.seq}") for a in waiting.avoided]
        earlier = waiting.avoided_in_all - len(points)
        if earlier > 0:
            points.append(Point(text=f"and {earlier} earlier ones"))
        blocks.append(Paragraph(text="What came to notice meanwhile:"))
        blocks.append(Points(points=tuple(points)))
    yield Section(title="Waiting", blocks=tuple(blocks))


def _avoided(avoided: Avoided) -> str:
    if avoided.words:
        return avoided.words
    parts = [f"{avoided.version} was withdrawn"] if avoided.withdrawn else []
    if avoided.users:
        parts.append(f"trouble with {avoided.version} reported by {avoided.users} users")
    return "; ".join(parts)


def _runs(runs: Runs) -> Iterator[Section]:
    if not runs.finished and not runs.abandoned:
        return
    parts = [f"{runs.finished} finished, {runs.abandoned} abandoned"]
    parts += [f"{runs.against} begun against the advice"] if runs.against else []
    parts += [f"{runs.stumbled} with a step that failed on the way"] if runs.stumbled else []
    parts += [f"{runs.alone} without a decision kept before"] if runs.alone else []
    text = (
        f"{'; '.join(parts)}. Runs are counted here alone: how an update went is told by its "
        "outcome, once it was flown."
    )
    yield Section(title="Update runs", blocks=(Paragraph(text=text),))


def _rates(stats: Stats) -> Section:
    least = learning().least_flights
    shipped = tables.priors().prior
    own = own_priors(stats.rates, shipped)
    rows = []
    for rate in stats.rates:
        prior, mine = (getattr(table, rate.opener).flights for table in (shipped, own))
        told = _chance(rate.problems) if rate.problems.tells else _few(rate.problems.of, least)
        counted = f"{rate.problems.hits} in {rate.problems.of}"
        means = (f"{shipped.shape / prior:.5f}", f"{own.shape / mine:.5f}")
        rows.append((rate.opener, counted, told, *means))
    head = ("Opened by", "Problems in flights", "A flight", "Prior", "With your record")
    text = (
        "Flights count once for each function that the update put at stake. The record is of "
        "updates you chose, so it may look better than releases are. The advice starts from it "
        "only where you ask for it."
    )
    table = Table(head=head, rows=tuple(rows))
    return Section(title="Your own base rates", blocks=(table, Paragraph(text=text)))


def journal_report(
    stats: Stats, cases: Sequence[PastDecision], left_out: int, updates: Sequence[JournalEntry] = ()
) -> Outline:
    """What the journal teaches, then the newest decisions and update runs, for paper."""
    rows = tuple(
        (
            str(c.seq),
            c.day.isoformat(),
            ", ".join(c.decision.units),
            f"{c.advised.installed} -> {c.advised.version}",
            CHOICE[c.advised.verdict],
            CHOICE[c.decision.choice],
            c.decision.reason,
            _went(c),
        )
        for c in cases
    )
    head = ("Entry", "Day", "Units", "Release", "Advice", "Decided", "Reason", "Outcome")
    blocks: tuple[Table | Paragraph, ...] = (Table(head=head, rows=rows),)
    if left_out > 0:
        blocks += (Paragraph(text=f"And {left_out} earlier decisions."),)
    title = "Decisions, the newest first"
    decided = Section(title=title, blocks=blocks)
    return (*learnt(stats, plots=True), decided, *_ran(stats.runs, updates))


def _ran(runs: Runs, updates: Sequence[JournalEntry]) -> Iterator[Section]:
    if not updates:
        return
    head = ("Entry", "Day", "About", "Update to", "Versions", "How", "Left out", "Left undone")
    blocks: tuple[Table | Paragraph, ...] = (
        Table(head=head, rows=tuple(_ran_row(entry) for entry in updates)),
    )
    if (left_out := runs.finished + runs.abandoned - len(updates)) > 0:
        blocks += (Paragraph(text=f"And {left_out} earlier runs."),)
    yield Section(title="Update runs, the newest first", blocks=blocks)


def _ran_row(entry: JournalEntry) -> tuple[str, ...]:
    payload = entry.record.payload
    assert isinstance(payload, Updated)
    over = payload.summary
    how = f"abandoned: {over.abandoned}" if over.abandoned else "finished"
    skipped = [f"{t.title} ({t.reason})" if t.title else "a step" for t in over.skipped]
    return (
        str(entry.seq),
        payload.day.isoformat(),
        "-" if payload.about == entry.seq else str(payload.about),
        over.title or over.version,
        "; ".join(moved(over)),
        how + (", against the advice" if over.against else ""),
        "; ".join(skipped),
        "; ".join(title or "a step" for title in over.left),
    )


def _went(case: PastDecision) -> str:
    if case.outcome is None:
        return "open"
    outcome = case.outcome
    parts = [RESULT[outcome.result], outcome.function]
    if outcome.severity:
        parts.append(f"category {outcome.severity}")
    if any(o.went_back for o in case.problems):
        parts.append("went back")
    parts += [outcome.words, *case.avoided]
    return ", ".join(part for part in parts if part)


def _did(row: Row) -> str:
    return (
        f"{'followed' if row.followed else 'overruled'}: {'updated' if row.updated else 'waited'}"
    )


def _share(share: Share, least: int) -> str:
    if not share.tells:
        return _few(share.of, least)
    low, high = round(100 * share.low), round(100 * share.high)
    return f"{round(100 * share.share)} % ({low} to {high})"


def _chance(share: Share) -> str:
    return f"{share.share:.4f} ({share.low:.4f} to {share.high:.4f})"


def _few(of: int, least: int) -> str:
    return f"too few to tell ({of} of {least})"
