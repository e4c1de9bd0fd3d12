"""`triage model`: train and evaluate the classifier."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli.out import say

app = typer.Typer(help="Train and evaluate the classifier.", no_args_is_help=True)

CorpusOption = Annotated[
    Path | None, typer.Option("--corpus", help="Folder of *.jsonl items; else the shipped one.")
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
        bool, typer.Option("--accept-loss", help="Take it even if the shipped set is read worse.")
    ] = False,
) -> None:
    """Train from the corpora; the same corpora and libraries give the same bytes."""
    from triage.app import train as training

    if not with_corrections:
        fitted = training.train(corpus, out)
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
    """Fit the one encoder of all heads to the corpora (PyTorch, about an hour).

    Afterwards: triage model fit-reading, triage model train.
    """
    from triage.classify.encoder_file import NAME, save
    from triage.reference.shipped import folder
    from triage.training.corpora import corpora_digest, read_shipped
    from triage.training.encoder_fit import fit_encoder as fitted

    corpora = read_shipped()
    seen = {example.style for example in corpora.seen}
    fit = fitted(
        corpora.seen,
        corpus_sha256=corpora_digest(),
        kept_out=sorted({example.style for example in corpora.unseen} - seen),
        tell=lambda line: say(f"{line}\n"),
    )
    path = (out or folder("models")) / NAME
    digest = save(*fit, path)
    say(f"Fitted to {fit[0].items} statements: {path} ({path.stat().st_size:,} bytes)\n{digest}\n")


@app.command("fit-reading")
def fit_reading(
    out: Annotated[Path | None, typer.Option("--out", help="Where to write reading.zip.")] = None,
) -> None:
    """Fit the models of the reading beside the shipped encoder (PyTorch, some minutes)."""
    from triage.classify.encoder_file import shipped
    from triage.reading.models import NAME, Thresholds
    from triage.reference.shipped import folder
    from triage.training.corpora import read_shipped
    from triage.training.reading_fit import fit_reading as fitted

    opened = shipped()
    path = (out or folder("models")) / NAME
    digest = fitted(
        read_shipped(),
        opened.encoder,
        opened.sha256,
        path,
        thresholds=Thresholds(),
        tell=lambda line: say(f"{line}\n"),
    )
    say(f"Fitted: {path} ({path.stat().st_size:,} bytes)\n{digest}\n")


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
