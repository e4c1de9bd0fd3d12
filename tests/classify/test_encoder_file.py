"""The encoder's file: what was written comes back, and nothing else is taken."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from triage.classify import encoder_file
from triage.classify.encoder_file import NAME, PROTOCOL, Manifest, load, save
from triage.domain.kinds import Kind
from triage.domain.notes import Comparison, EffectKind
from triage.errors import ModelError
from triage.reference.shipped import folder
from triage.reference.vocabulary import components, settings
from triage.training.examples import CHOICES
from triage.training.held_out import KEPT_OUT

MANIFEST = Manifest(
    protocol=PROTOCOL,
    targets=("a", "b"),
    origin="",
    kept_out_styles=(),
    kept_out_items=0,
    items=0,
    corpus_sha256="",
    libraries={},
)
WORDS = ("[CLS]", "[SEP]", "[UNK]", "fix")


def arrays() -> dict[str, np.ndarray]:
    draw = np.random.default_rng(3)
    wide = draw.normal(size=(128, 256)).astype(np.float32)
    return {
        "pieces": draw.normal(size=(4, 128)).astype(np.float32),
        "layer.0.mix": wide,
        "head": draw.normal(size=(128, 2)).astype(np.float32),
        "heads": np.array([4], np.float32),
    }


def test_large_matrices_come_back_within_half_a_step(tmp_path: Path) -> None:
    written = arrays()
    save(MANIFEST, written, WORDS, tmp_path / NAME)
    read = load(tmp_path / NAME).encoder.arrays
    step = np.abs(written["layer.0.mix"]).max(axis=0) / 127
    assert (np.abs(read["layer.0.mix"] - written["layer.0.mix"]) <= step / 2 * 1.001).all()
    assert np.array_equal(read["head"], written["head"])


@pytest.mark.parametrize("harm", ["cut", "altered", "missing", "other layout", "shape", "nan"])
def test_a_harmed_encoder_is_refused_with_a_mend(
    tmp_path: Path, harm: str, spoil: Callable[[Path, str], None]
) -> None:
    path, manifest, written = tmp_path / NAME, MANIFEST, arrays()
    if harm == "other layout":
        manifest = manifest.model_copy(update={"protocol": 99})
    if harm == "shape":
        written["head"] = written["head"][:, :1]
    if harm == "nan":
        written["head"][0, 0] = np.nan
    save(manifest, written, WORDS, path)
    spoil(path, harm)
    with pytest.raises(ModelError, match="restore the file"):
        load(path)


def test_the_shipped_encoder_says_what_it_was_fitted_to() -> None:
    manifest = encoder_file.shipped().manifest
    assert manifest.targets[: len(Kind)] == tuple(Kind)
    known = {f"setting:{s.id}" for s in settings()} | {f"component:{c.id}" for c in components()}
    known |= {f"{head}:{value}" for head, values in CHOICES.items() for value in values}
    known |= {f"effect:{e.value}" for e in EffectKind} | {"effect:kept"}
    known |= {f"relation:{c.value}" for c in Comparison}
    assert set(manifest.targets[len(Kind) :]) <= known
    assert set(KEPT_OUT) <= set(manifest.kept_out_styles)


def test_the_shipped_file_leaves_room_in_the_wheel() -> None:
    """The wheel is to stay under 40 MB."""
    assert (folder("models") / NAME).stat().st_size < 30_000_000
