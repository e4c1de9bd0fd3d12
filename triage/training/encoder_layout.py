"""The network's weights as the encoder names and lays them out, and back again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from triage.classify.encoder import LENGTH, Arrays, Single
from triage.classify.encoder_file import Opened

if TYPE_CHECKING:
    import torch
    from transformers import BertModel


def resume(
    network: BertModel, head: torch.nn.Linear, vocabulary: Sequence[str], after: Opened
) -> None:
    """The weights of an encoder on disk, put back into the network it was laid out from."""
    import torch

    a, table = after.encoder.arrays, after.encoder.table
    state = network.state_dict()

    def put(name: str, array: Single) -> None:
        state[name].copy_(torch.tensor(np.ascontiguousarray(array)))

    place = {piece: number for number, piece in enumerate(vocabulary)}
    rows = torch.tensor(table.rows * table.scale[:, None])
    for piece, number in after.encoder.pieces.place.items():
        state["embeddings.word_embeddings.weight"][place[piece]] = rows[number]
    state["embeddings.position_embeddings.weight"][:LENGTH] = torch.tensor(a["positions"])
    put("embeddings.token_type_embeddings.weight", a["parts"])
    for name, ours in _norms(network.config.num_hidden_layers):
        put(f"{name}.weight", a[ours][0])
        put(f"{name}.bias", a[ours][1])
    size = network.config.hidden_size
    for layer in range(network.config.num_hidden_layers):
        old, new = f"encoder.layer.{layer}", f"layer.{layer}"
        for number, part in enumerate(("query", "key", "value")):
            columns = slice(number * size, (number + 1) * size)
            put(f"{old}.attention.self.{part}.weight", a[f"{new}.mix"][:, columns].T)
            put(f"{old}.attention.self.{part}.bias", a[f"{new}.mix.bias"][columns])
        for part, name in _DENSE:
            put(f"{old}.{name}.weight", a[f"{new}.{part}"].T)
            put(f"{old}.{name}.bias", a[f"{new}.{part}.bias"])
    head.weight.data = torch.tensor(np.ascontiguousarray(a["head"].T))
    head.bias.data = torch.tensor(a["head.bias"])


_DENSE = (
    ("out", "attention.output.dense"),
    ("widen", "intermediate.dense"),
    ("narrow", "output.dense"),
)


def _norms(layers: int) -> Iterator[tuple[str, str]]:
    """The names of the normalisations in the network and in ours."""
    yield "embeddings.LayerNorm", "norm"
    for layer in range(layers):
        yield f"encoder.layer.{layer}.attention.output.LayerNorm", f"layer.{layer}.norm"
        yield f"encoder.layer.{layer}.output.LayerNorm", f"layer.{layer}.norm.2"


def laid_out(
    network: BertModel, head: torch.nn.Linear, vocabulary: Sequence[str]
) -> tuple[Arrays, tuple[str, ...]]:
    """The weights as `encoder.py` names and lays them out, and the pieces that are kept: those of
    printable ASCII, without the places BERT left unused."""
    found = {name: value.detach().numpy() for name, value in network.state_dict().items()}
    kept = [n for n, p in enumerate(vocabulary) if p.isascii() and not p.startswith("[unused")]

    def norm(name: str) -> Single:
        return np.stack([found[f"{name}.weight"], found[f"{name}.bias"]])

    arrays = {
        "pieces": found["embeddings.word_embeddings.weight"][kept],
        "positions": found["embeddings.position_embeddings.weight"][:LENGTH],
        "parts": found["embeddings.token_type_embeddings.weight"],
        "norm": norm("embeddings.LayerNorm"),
        "heads": np.array([network.config.num_attention_heads], np.float32),
        "head": head.weight.detach().numpy().T,
        "head.bias": head.bias.detach().numpy(),
    }
    for layer in range(network.config.num_hidden_layers):
        old, new = f"encoder.layer.{layer}", f"layer.{layer}"
        mix = [f"{old}.attention.self.{part}" for part in ("query", "key", "value")]
        arrays[f"{new}.mix"] = np.concatenate([found[f"{name}.weight"] for name in mix]).T
        arrays[f"{new}.mix.bias"] = np.concatenate([found[f"{name}.bias"] for name in mix])
        for part, name in _DENSE:
            arrays[f"{new}.{part}"] = found[f"{old}.{name}.weight"].T
            arrays[f"{new}.{part}.bias"] = found[f"{old}.{name}.bias"]
        arrays[f"{new}.norm"] = norm(f"{old}.attention.output.LayerNorm")
        arrays[f"{new}.norm.2"] = norm(f"{old}.output.LayerNorm")
    return arrays, tuple(vocabulary[n] for n in kept)
