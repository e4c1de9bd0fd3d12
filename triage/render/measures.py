"""Reports of measures as an outline."""

from __future__ import annotations

from collections.abc import Sequence

from triage.render.outline import Outline, Paragraph, Section, Table
from triage.training.metrics import Interval, Report


def measures(reports: Sequence[Report]) -> Outline:
    """One table a report; intervals are 95 % by bootstrap."""
    return tuple(_section(report, first=not n) for n, report in enumerate(reports))


def _section(report: Report, *, first: bool) -> Section:
    rows = tuple(
        (
            kind.kind.value,
            str(kind.positives),
            f"{kind.precision.value:.3f}",
            f"{kind.recall.value:.3f}",
            _with_interval(kind.f1),
            f"{kind.brier.value:.3f}",
            f"{kind.calibration_error.value:.3f}",
        )
        for kind in report.kinds
    )
    head = ("kind", "n", "precision", "recall", "F1 (95 %)", "Brier", "ECE")
    text = (
        f"{report.items} items; macro-F1 {_with_interval(report.macro_f1)}; "
        f"calibration error over all kinds {_with_interval(report.calibration_error)}"
    )
    blocks = (Paragraph(text=text), Table(head=head, rows=rows))
    return Section(title=report.name, blocks=blocks, level=1 if first else 2)


def _with_interval(interval: Interval) -> str:
    return f"{interval.value:.3f} ({interval.low:.3f}-{interval.high:.3f})"
