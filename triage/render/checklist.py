"""A run as a page for paper: large boxes to tick, lines to write on, and no colour needed."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from triage.domain.update_run import Needs, Run, Stage, State, StepState
from triage.render.update_run import STAGE

_STYLE = """
@page { size: A4; margin: 15mm; }
* { box-sizing: border-box; }
body { font: 12pt/1.35 sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 180mm; }
h1 { font-size: 18pt; margin: 0 0 2mm; }
h2 { font-size: 14pt; margin: 6mm 0 2mm; border-bottom: .4mm solid #000; break-after: avoid; }
ol { list-style: none; margin: 0; padding: 0; }
li.step { display: grid; grid-template-columns: 11mm 1fr; gap: 0 3mm; margin: 0 0 4mm;
  break-inside: avoid; }
.box { width: 9mm; height: 9mm; border: .6mm solid #000; font: bold 16pt/8mm sans-serif;
  text-align: center; }
.title { font-weight: bold; }
ul { margin: 1mm 0 0; padding-left: 5mm; font-size: 10pt; }
.source { font-size: 8pt; }
.write { margin: 2mm 0 0; }
.line { display: inline-block; min-width: 50mm; border-bottom: .3mm solid #000; }
footer { margin-top: 8mm; font-size: 9pt; border-top: .3mm solid #000; }
@media print { body { max-width: none; } }
"""
_BOX = {State.OPEN: "", State.DONE: "✓", State.SKIPPED: "–", State.FAILED: "!"}
_SAID = {
    State.OPEN: "to do",
    State.DONE: "done",
    State.SKIPPED: "skipped",
    State.FAILED: "failed",
}
_ASKED = {
    Needs.VERSION: "Version it shows:",
    Needs.CHARGE: "Lowest charge of all, in %:",
}


def to_page(run: Run) -> str:
    """A whole HTML page without scripts; every text is escaped."""
    plan = run.plan
    title = escape(f"Update day: {plan.title}")
    body = "\n".join(line for stage in Stage for line in _stage(run, stage))
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{title}</h1>\n<p>Run {escape(run.id)}, begun {run.started.at:%Y-%m-%d}; policy "
        f"{escape(plan.policy)}. {escape(plan.headline)}</p>\n"
        '<p class="write">Pilot: <span class="line"></span> Day: <span class="line"></span></p>\n'
        f"{body}\n</main>\n<footer>The maker's manual, your local rules and your licensed practice "
        "come before this list.</footer>\n</body>\n</html>\n"
    )


def _stage(run: Run, stage: Stage) -> Iterator[str]:
    steps = [step for step in run.steps if step.step.stage is stage]
    if not steps:
        return
    yield f"<h2>{STAGE[stage]}</h2>\n<ol>"
    for step in steps:
        yield from _step(step)
    yield "</ol>"


def _step(step: StepState) -> Iterator[str]:
    said = _SAID[step.state]
    yield (
        f'<li class="step"><span class="box" role="img" aria-label="{said}">{_BOX[step.state]}'
        f'</span><div><span class="title">{step.number}. {escape(step.step.title)}</span>'
    )
    if step.step.details:
        yield "<ul>"
        for detail in step.step.details:
            source = f' <span class="source">[{escape(detail.source)}]</span>'
            yield f"<li>{escape(detail.text)}{source}</li>"
        yield "</ul>"
    if asked := _ASKED.get(step.step.needs):
        target = f" (shall be {escape(step.step.target)})" if step.step.target else ""
        read = escape(step.last.version) if step.last else ""
        yield f'<p class="write">{asked}{target} <span class="line">{read}</span></p>'
    if step.last and step.last.note:
        yield f'<p class="write">{said.capitalize()}: {escape(step.last.note)}</p>'
    yield "</div></li>"
