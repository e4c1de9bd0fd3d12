"""The encoder computes what its published design says, whatever it is read beside."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.classify import encoder_file
from triage.classify.encoder import LENGTH, Encoder, Table
from triage.domain.kinds import Kind

OPENED = encoder_file.shipped()
ENCODER = OPENED.encoder
REFERENCE = Path(__file__).resolve().parents[1] / "data" / "encoder" / "reference.json"
NEAR = 0.002  # single precision, and scores that are rounded to three decimals


def test_scores_are_those_of_the_reference_implementation() -> None:
    """Source: BertModel of transformers 5.24 on PyTorch 2.13 with the shipped weights; the values
    are in tests/data/encoder/reference.json."""
    reference = json.loads(REFERENCE.read_text(encoding="utf-8"))
    if reference["encoder_sha256"] != OPENED.sha256:
        pytest.fail("another encoder is shipped: write the reference anew (its `made_by`)")
    pairs = [(row["context"], row["item"]) for row in reference["rows"]]
    wanted = np.array([row["scores"] for row in reference["rows"]])
    assert np.abs(ENCODER.scores(pairs) - wanted).max() < NEAR


def small() -> dict[str, npt.NDArray[np.float32]]:
    """Weights of two layers, four numbers a piece and two heads, drawn by chance."""
    draw = np.random.default_rng(7)
    shapes: dict[str, tuple[int, ...]] = {
        "pieces": (9, 4),
        "positions": (LENGTH, 4),
        "parts": (2, 4),
        "norm": (2, 4),
    }
    for layer in range(2):
        at = f"layer.{layer}"
        shapes |= {f"{at}.mix": (4, 12), f"{at}.mix.bias": (12,), f"{at}.out": (4, 4)}
        shapes |= {f"{at}.out.bias": (4,), f"{at}.norm": (2, 4), f"{at}.widen": (4, 8)}
        shapes |= {f"{at}.widen.bias": (8,), f"{at}.narrow": (8, 4), f"{at}.narrow.bias": (4,)}
        shapes |= {f"{at}.norm.2": (2, 4)}
    shapes |= {"head": (4, 3), "head.bias": (3,)}
    weights = {name: draw.normal(size=shape).astype(np.float32) for name, shape in shapes.items()}
    return {**weights, "heads": np.array([2], np.float32)}


def plainly(w: dict[str, npt.NDArray[np.float32]], numbers: list[int], first: int) -> list[float]:
    """One input by the formulas of the BERT paper, a piece at a time, in double precision.

    Source: A. Vaswani et al., 'Attention is all you need', 2017, sections 3.2 and 3.3; J. Devlin
    et al., 'BERT', 2019, section 3; GELU's tanh form, D. Hendrycks and K. Gimpel, 2016.
    """

    def norm(x: npt.NDArray[np.float64], name: str) -> npt.NDArray[np.float64]:
        out: npt.NDArray[np.float64] = (x - x.mean()) / np.sqrt(x.var() + 1e-12)
        return np.asarray(out * w[name][0] + w[name][1])

    rows = [
        norm(w["pieces"][n].astype(float) + w["positions"][i] + w["parts"][int(i >= first)], "norm")
        for i, n in enumerate(numbers)
    ]
    for layer in range(2):
        at = f"layer.{layer}"
        mixed = [x @ w[f"{at}.mix"] + w[f"{at}.mix.bias"] for x in rows]
        after = []
        for i, x in enumerate(rows):
            heads = []
            for head in range(2):
                query, key, value = (
                    slice(4 * part + 2 * head, 4 * part + 2 * head + 2) for part in range(3)
                )
                scores = [float(mixed[i][query] @ other[key]) / np.sqrt(2) for other in mixed]
                share = np.exp(scores) / np.exp(scores).sum()
                heads.append(sum(s * other[value] for s, other in zip(share, mixed, strict=True)))
            out = np.concatenate(heads) @ w[f"{at}.out"] + w[f"{at}.out.bias"]
            after.append(norm(x + out, f"{at}.norm"))
        rows = []
        for x in after:
            wide = x @ w[f"{at}.widen"] + w[f"{at}.widen.bias"]
            wide = 0.5 * wide * (1 + np.tanh(np.sqrt(2 / np.pi) * (wide + 0.044715 * wide**3)))
            rows.append(norm(x + wide @ w[f"{at}.narrow"] + w[f"{at}.narrow.bias"], f"{at}.norm.2"))
    return [float(v) for v in np.mean(rows, axis=0) @ w["head"] + w["head.bias"]]


VOCABULARY = ("[CLS]", "[SEP]", "[UNK]", "fix", "hover", "##s", "gyro", ":", "new")


@given(
    st.lists(st.tuples(*[st.lists(st.sampled_from(VOCABULARY[3:]), max_size=9)] * 2), min_size=1)
)
@settings(max_examples=30, deadline=None)
def test_any_batch_is_what_the_formulas_give(words: list[tuple[list[str], list[str]]]) -> None:
    weights = small()
    scale = np.abs(weights["pieces"]).max(axis=1) / 127
    table = Table(np.round(weights["pieces"] / scale[:, None]).astype(np.int8), scale)
    weights["pieces"] = (table.rows * scale[:, None]).astype(np.float32)
    encoder = Encoder(table, weights, VOCABULARY)
    pairs = [(" ".join(a), " ".join(b)) for a, b in words]
    place = {piece: n for n, piece in enumerate(VOCABULARY)}
    for row, (context, item) in zip(encoder.scores(pairs), pairs, strict=True):
        numbers, first = encoder.pieces.input(context, item, LENGTH)
        assert set(numbers) <= set(place.values())
        assert np.abs(row - plainly(weights, numbers, first)).max() < NEAR


def test_company_does_not_move_a_score() -> None:
    pairs = [("aircraft : fixes", f"Fixed drift in hover {'again ' * n}") for n in range(40)]
    alone = np.concatenate([ENCODER.scores([pair]) for pair in pairs])
    assert np.abs(ENCODER.scores(pairs) - alone).max() < NEAR


@given(st.lists(st.tuples(st.text(max_size=50), st.text(max_size=500)), max_size=5))
@settings(max_examples=25, deadline=None)
def test_any_text_has_finite_scores(pairs: list[tuple[str, str]]) -> None:
    scores = ENCODER.scores(pairs)
    assert scores.shape == (len(pairs), len(OPENED.manifest.targets))
    assert np.isfinite(scores).all()


def test_what_is_remembered_is_what_was_read_and_is_bounded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("triage.classify.encoder._REMEMBERED", 3)
    pairs = [("", f"Mended case {n}") for n in range(6)]
    first = ENCODER.scores(pairs)
    assert np.array_equal(ENCODER.scores(pairs), first)
    assert np.array_equal(ENCODER.scores([pairs[0], pairs[0]]), first[[0, 0]])


def test_word_order_matters() -> None:
    """What the other model cannot tell apart."""
    one, other = ENCODER.scores(
        [(" : ", "RTH altitude is no longer lost"), (" : ", "No altitude is lost longer RTH")]
    )[:, : len(Kind)]
    assert np.abs(one - other).max() > 0.05
