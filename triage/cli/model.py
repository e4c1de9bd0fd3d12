"""`triage model`: train and evaluate the classifier."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli.out import say

app = typer.Typer(help="Train and evaluate the classifier.", no_args_is_help=True)

CorpusOption = Annotated[
    Path | None,
    typer.Option("--corpus", help="Folder of *.jsonl items; by default the shipped one."),
]


@app.command()
def train(
    corpus: CorpusOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write kinds.zip.")] = None,
    with_corrections: Annotated[
        bool,
        typer.Option("--with-corrections", help="Add your corrections; the model is yours alone."),
    ] = False,
    accept_loss: Annotated[
        bool,
        typer.Option("--accept-loss", help="Accept it even if it does worse on the shipped set."),
    ] = False,
) -> None:
    """Train from the corpora; the same corpora and libraries give the same bytes."""
    from triage.app import train as training

    if not with_corrections:
        fitted = training.train_model(corpus, out)
        say(f"Trained on {fitted.items} items: {_file(fitted.path)}\n{fitted.digest}\n")
        return

    from triage.render.measures import measures
    from triage.render.text import to_text

    own = training.train_own(
        corpus, out, accept_loss=accept_loss, tell=lambda pair: say(to_text(measures(pair)))
    )
    say(f"Trained with {own.items} corrections: {own.path}\n")


def _file(path: Path) -> str:
    return f"{path} ({path.stat().st_size:,} bytes)"


@app.command("fit-encoder")
def fit_encoder(
    out: Annotated[Path | None, typer.Option("--out", help="Where to write encoder.zip.")] = None,
) -> None:
    """Fit the one encoder of all heads (PyTorch, an hour); then fit-reading, then train."""
    from triage.app.train import fit_encoder_file as fit

    fitted = fit(out, tell=lambda line: say(f"{line}\n"))
    say(f"Fitted to {fitted.items} statements: {_file(fitted.path)}\n{fitted.digest}\n")


@app.command("fit-reading")
def fit_reading(
    out: Annotated[Path | None, typer.Option("--out", help="Where to write reading.zip.")] = None,
) -> None:
    """Fit the models of the reading beside the shipped encoder (PyTorch, some minutes)."""
    from triage.app.train import fit_reading_file as fit

    fitted = fit(out, tell=lambda line: say(f"{line}\n"))
    say(f"Fitted to {fitted.items} documents: {_file(fitted.path)}\n{fitted.digest}\n")


@app.command()
def evaluate(
    corpus: CorpusOption = None,
    labelled: Annotated[
        Path | None,
        typer.Option("--labelled", help="Folder of real notes with labels.jsonl to measure on."),
    ] = None,
) -> None:
    """Measure the shipped model: on items kept out of its fitting, or on labelled notes."""
    from triage.app.train import measure
    from triage.render.measures import measures
    from triage.render.text import to_text

    say(to_text(measures(measure(corpus, labelled))))
