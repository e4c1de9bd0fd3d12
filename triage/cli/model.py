"""`triage model`: train and evaluate the classifier."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli.out import say
from triage.errors import ConfigError

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
    if with_corrections:
        _own(corpus, out, accept_loss=accept_loss)
        return
    from triage.classify.model_file import NAME, save
    from triage.classify.recogniser import Recogniser
    from triage.reference.shipped import folder
    from triage.training.corpus import corpus_digest, read_corpus
    from triage.training.fit import train as trained

    items = read_corpus(corpus)
    artefact = trained(items, Recogniser(), corpus_sha256=corpus_digest(corpus))
    path = (out or folder("models")) / NAME
    digest = save(artefact, path)
    say(f"Trained on {len(items)} items: {path} ({path.stat().st_size:,} bytes)\n{digest}\n")


def _own(corpus: Path | None, out: Path | None, *, accept_loss: bool) -> None:
    from triage.classify.corrections import as_items, corrections
    from triage.classify.model_file import NAME, save
    from triage.render.measures import measures
    from triage.render.text import to_text
    from triage.storage.user_folder import home, make_folder
    from triage.training.corpus import corpus_digest, read_corpus
    from triage.training.retraining import retrain

    settled = as_items(corrections())
    if not settled:
        raise ConfigError(
            "no corrections yet", mend="settle items with: triage items NOTES --settle"
        )
    result = retrain(read_corpus(corpus), settled, corpus_sha256=corpus_digest(corpus))
    say(to_text(measures((result.before, result.after))))
    if result.loses and not accept_loss:
        raise ConfigError(
            "the shipped items would be read worse with your corrections; nothing was changed",
            mend="look through the corrections, or add --accept-loss",
        )
    folder = out or home()
    make_folder(folder)
    save(result.artefact, folder / NAME)
    say(f"Trained with {len(settled)} corrections: {folder / NAME}\n")


@app.command("fit-encoder")
def fit_encoder(
    corpus: CorpusOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write encoder.zip.")] = None,
) -> None:
    """Fit the encoder that reads items in their word order (PyTorch, an hour); then train."""
    from triage.classify.encoder_file import NAME, save
    from triage.reference.shipped import folder
    from triage.training.corpus import corpus_digest, read_corpus
    from triage.training.fine_tuning import fit_encoder as fitted

    fit = fitted(
        read_corpus(corpus),
        corpus_sha256=corpus_digest(corpus),
        tell=lambda line: say(f"{line}\n"),
    )
    path = (out or folder("models")) / NAME
    digest = save(*fit, path)
    say(f"Fitted to {fit[0].items} items: {path} ({path.stat().st_size:,} bytes)\n{digest}\n")


@app.command()
def evaluate(
    corpus: CorpusOption = None,
    labelled: Annotated[
        Path | None,
        typer.Option("--labelled", help="Folder of real notes with labels.jsonl to measure on."),
    ] = None,
) -> None:
    """Measure the shipped model: on items kept out of its fitting, or on labelled notes."""
    from triage.render.measures import measures
    from triage.render.text import to_text
    from triage.training.evaluate import on_corpus, on_labelled

    reports = on_labelled(labelled) if labelled else on_corpus(corpus)
    say(to_text(measures(reports)))
