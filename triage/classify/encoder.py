"""Reads an item in its word order: a small transformer encoder, judged by numpy alone.

The layout is BERT's (J. Devlin et al., 'BERT', 2019): pieces, positions and the two parts of the
input (context, item) are summed, then layers of attention and of a feed-forward net, each with its
residual and normalisation; the mean over the pieces goes to one linear head a target. The weights
start from a published sentence encoder and are fine-tuned on the corpora (see fine_tuning.py).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from triage.classify.features import Pair
from triage.classify.wordpiece import Pieces

Single = npt.NDArray[np.float32]
Arrays = Mapping[str, Single]
Integers = npt.NDArray[np.int64]

LENGTH = 96  # pieces read of one input; what is beyond is left to the other model
_PACK = 1024  # pieces computed at a time, which bounds the memory
_DIGITS = 3  # decimals kept of a score, so that it does not hang on the company it was read in
_REMEMBERED = 16_384  # inputs, some 25 megabytes of vectors
_TINY = 1e-12


class Table(NamedTuple):
    """A matrix rounded to bytes: its row n is `rows[n] * scale[n]`."""

    rows: npt.NDArray[np.int8]
    scale: Single


class Encoder:
    """Holds the weights: the vectors of the pieces, and arrays by name, float32 (rows, columns) as
    they are multiplied by.
    """

    def __init__(self, table: Table, arrays: Arrays, vocabulary: Sequence[str]) -> None:
        self.table = table
        self.pieces = Pieces(vocabulary)
        self._known: dict[tuple[int, ...], Single] = {}
        self.arrays = arrays
        self._heads = int(arrays["heads"][0])
        self._layers = sum(name.endswith(".mix") for name in arrays)

    def scores(self, inputs: Sequence[Pair]) -> npt.NDArray[np.float64]:
        """Log-odds of (context, item) pairs: an array (inputs, targets)."""
        rows = self.vectors(inputs) @ self.arrays["head"] + self.arrays["head.bias"]
        return rows.astype(np.float64).round(_DIGITS)

    def vectors(self, inputs: Sequence[Pair]) -> Single:
        """What the heads rest on: an array (inputs, size). An input is read once, and remembered
        for the heads that come later and for when the same notes are judged again.
        """
        if len(self._known) > _REMEMBERED:
            self._known = {}  # another thread may still read from the old one
        known = self._known
        numbered = [self.pieces.input(before, item, LENGTH) for before, item in inputs]
        keys = [tuple(numbers) for numbers, _ in numbered]
        new = {key: at for at, key in enumerate(keys) if key not in known}
        places = list(new.values())
        for at in _packs([len(keys[place]) for place in places]):
            rows = self._read([numbered[places[i]] for i in at])
            known.update({keys[places[i]]: row for i, row in zip(at, rows, strict=True)})
        out = np.empty((len(inputs), self.arrays["head"].shape[0]), np.float32)
        for place, key in enumerate(keys):
            out[place] = known[key]
        return out

    def _read(self, inputs: Sequence[tuple[list[int], int]]) -> Single:
        """Mean vectors of the inputs, which are computed side by side without padding."""
        lengths = np.array([len(numbers) for numbers, _ in inputs])
        numbers = np.concatenate([np.array(numbers) for numbers, _ in inputs])
        positions = np.concatenate([np.arange(n) for n in lengths])
        firsts = np.repeat([first for _, first in inputs], lengths)
        a = self.arrays
        x: Single = self.table.rows[numbers] * self.table.scale[numbers][:, None]
        x += a["positions"][positions]
        x = _normal(x + a["parts"][(positions >= firsts).astype(int)], a["norm"])
        within = np.arange(lengths.max()) < lengths[:, None]
        for layer in range(self._layers):
            x = self._layer(x, f"layer.{layer}", within)
        starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
        return np.asarray(np.add.reduceat(x, starts) / lengths[:, None], np.float32)

    def _layer(self, x: Single, name: str, within: npt.NDArray[np.bool_]) -> Single:
        a = self.arrays
        mixed = self._attention(x @ a[f"{name}.mix"] + a[f"{name}.mix.bias"], within)
        x = _normal(x + (mixed @ a[f"{name}.out"] + a[f"{name}.out.bias"]), a[f"{name}.norm"])
        wide = _gelu(x @ a[f"{name}.widen"] + a[f"{name}.widen.bias"])
        narrow = wide @ a[f"{name}.narrow"] + a[f"{name}.narrow.bias"]
        return _normal(x + narrow, a[f"{name}.norm.2"])

    def _attention(self, mixed: Single, within: npt.NDArray[np.bool_]) -> Single:
        """Scaled dot-product attention among the pieces of each input; rows as in `mixed`."""
        inputs, longest = within.shape
        size = mixed.shape[1] // 3 // self._heads
        flat = np.flatnonzero(within)
        padded = np.zeros((inputs * longest, mixed.shape[1]), np.float32)
        padded[flat] = mixed
        query, key, value = padded.reshape(inputs, longest, 3, self._heads, size).transpose(
            2, 0, 3, 1, 4
        )
        share = query @ key.swapaxes(2, 3) * np.float32(size**-0.5)
        share += np.where(within, 0, -1e9).astype(np.float32)[:, None, None, :]
        share -= share.max(-1, keepdims=True)
        np.exp(share, out=share)
        share /= share.sum(-1, keepdims=True)
        joined = (share @ value).transpose(0, 2, 1, 3).reshape(inputs * longest, -1)
        rows: Single = joined[flat]
        return rows


def _packs(lengths: Sequence[int]) -> Iterator[Integers]:
    """Places of inputs of like length, some `_PACK` pieces at a time."""
    order = np.argsort(lengths, kind="stable")
    pack: list[int] = []
    for place in order:
        if pack and lengths[place] * (len(pack) + 1) > _PACK:
            yield np.array(pack)
            pack = []
        pack.append(int(place))
    if pack:
        yield np.array(pack)


def _normal(x: Single, norm: Single) -> Single:
    """Layer normalisation with gain `norm[0]` and shift `norm[1]`, in place."""
    x -= x.mean(axis=1, keepdims=True)
    x /= np.sqrt(np.einsum("ij,ij->i", x, x)[:, None] / x.shape[1] + np.float32(_TINY))
    x *= norm[0]
    x += norm[1]
    return x


def _gelu(x: Single) -> Single:
    """GELU by its tanh form (D. Hendrycks, K. Gimpel, 2016), in place."""
    inner = x * x
    inner *= 0.044715
    inner += 1
    inner *= x
    inner *= np.float32(np.sqrt(2 / np.pi))
    np.tanh(inner, out=inner)
    inner += 1
    x *= inner
    x *= np.float32(0.5)
    return x
