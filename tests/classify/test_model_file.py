"""The stored model: whole, reproducible, and refused when it is not what was written."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from triage.classify import encoder_file
from triage.classify import model_file as files
from triage.classify.classifier import Classifier, shipped
from triage.classify.model_file import NAME, load, save
from triage.classify.recogniser import Recogniser
from triage.errors import ModelError
from triage.reference.shipped import folder
from triage.training.corpus import corpus_digest, read_corpus
from triage.training.fit import train

RECOGNISER = Recogniser()


@pytest.fixture(scope="module")
def small() -> files.Artefact:
    return train(read_corpus()[::40], RECOGNISER, corpus_sha256="0" * 64)


def test_the_shipped_model_was_trained_from_the_shipped_corpora() -> None:
    assert shipped().manifest.corpus_sha256 == corpus_digest()
    assert shipped().manifest.items == len(read_corpus())


def test_saving_and_loading_keeps_everything(small: files.Artefact, tmp_path: Path) -> None:
    digest = save(small, tmp_path / NAME)
    again, stated = load(tmp_path / NAME)
    assert digest == stated
    assert again.names == small.names
    assert np.array_equal(again.weights, small.weights)


def test_the_same_corpus_gives_the_same_bytes(tmp_path: Path) -> None:
    items = read_corpus()[::40]
    digests = {
        save(train(items, RECOGNISER, corpus_sha256="0" * 64), tmp_path / str(n) / NAME)
        for n in range(2)
    }
    assert len(digests) == 1


@pytest.mark.parametrize("harm", ["cut", "altered", "missing", "other layout", "other vocabulary"])
def test_a_harmed_model_is_refused_with_a_mend(
    small: files.Artefact, tmp_path: Path, harm: str, spoil: Callable[[Path, str], None]
) -> None:
    path = tmp_path / NAME
    if harm == "other layout":
        small = small.model_copy(
            update={"manifest": small.manifest.model_copy(update={"protocol": 99})}
        )
    if harm == "other vocabulary":
        small = small.model_copy(
            update={"manifest": small.manifest.model_copy(update={"vocabulary_sha256": "1"})}
        )
    save(small, path)
    spoil(path, harm)
    with pytest.raises(ModelError, match="train it again"):
        load(path)


def test_a_member_swapped_along_with_the_outer_digest_is_refused(
    small: files.Artefact, tmp_path: Path
) -> None:
    path = tmp_path / NAME
    save(small, path)
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    members["names.txt"] = members["names.txt"][::-1]
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    import hashlib

    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    path.with_suffix(".sha256").write_text(f"{digest}  {NAME}\n")
    with pytest.raises(ModelError, match="digest differs"):
        load(path)


def test_the_manifest_is_plain_json() -> None:
    with zipfile.ZipFile(folder("models") / NAME) as archive:
        manifest = json.loads(archive.read("manifest.json"))
    assert set(manifest["libraries"]) == {"numpy", "scikit-learn", "spacy"}


def test_predicting_imports_no_scikit_learn() -> None:
    import subprocess
    import sys

    code = (
        "import sys; from triage.classify import shipped;"
        "from triage.classify.recogniser import Recogniser;"
        "shipped().chances([Recogniser().read('Fixed drift')], ['']);"
        "assert not {'sklearn', 'scipy'} & set(sys.modules), 'heavy import'"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_chances_are_chances(small: files.Artefact) -> None:
    classifier = Classifier(small, "0", encoder_file.shipped())
    readings = [RECOGNISER.read(text) for text in ("", "Fixed drift", "x" * 500, "新機能")]
    chances = classifier.chances(readings, [""] * len(readings))
    assert chances.shape == (4, 4)
    assert ((chances > 0) & (chances < 1)).all()
