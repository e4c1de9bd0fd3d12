"""Fits the network of roles with PyTorch on the annotated documents."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from triage.domain.notes import Role
from triage.reading.roles import ROLES, Floats, heading_vectors, layout_features
from triage.training.examples import ROLE_OF, Labelled

if TYPE_CHECKING:
    import torch

_VECTOR, _HEADING, _MIX, _HIDDEN = 96, 32, 160, 96
_JOIN_WEIGHT = 0.7
_BATCH = 8  # documents
_HEADINGS_DROPPED = 0.3


class Read(NamedTuple):
    """One document: inputs, the number of each atom's role, and whether it goes on."""

    vectors: Floats
    headings: Floats
    layout: Floats
    roles: np.ndarray[tuple[int], np.dtype[np.int64]]
    joins: Floats


def sequence(found: Labelled, vectors: Floats) -> Read:
    """A document as the network reads it; `vectors` (atoms, size) are the encoder's."""
    marked = found.document.spans
    roles = [
        ROLES.index(Role(ROLE_OF[marked[at].role])) if at >= 0 else ROLES.index(Role.BOILERPLATE)
        for at in found.spans
    ]
    joins = [
        float(number > 0 and at >= 0 and found.spans[number - 1] == at)
        for number, at in enumerate(found.spans)
    ]
    return Read(
        vectors,
        heading_vectors(vectors, found.contexts),
        layout_features(found.atoms, found.contexts),
        np.array(roles, np.int64),
        np.array(joins, np.float32),
    )


def fit_roles(
    documents: Sequence[Read],
    *,
    rounds: int = 30,
    rate: float = 2e-3,
    drop: float = 0.3,
    seed: int = 0,
    tell: Callable[[str], None] = lambda line: None,
) -> Mapping[str, Floats]:
    """The weights of a `RoleNetwork`."""
    import torch
    from torch import nn

    torch.manual_seed(seed)
    layout = np.concatenate([d.layout for d in documents])
    mean = layout.mean(axis=0)
    scale = 1.0 / np.maximum(layout.std(axis=0), 0.05)
    size = documents[0].vectors.shape[1]
    vector, heading = nn.Linear(size, _VECTOR, bias=False), nn.Linear(size, _HEADING, bias=False)
    mix = nn.Linear(_VECTOR + _HEADING + layout.shape[1], _MIX)
    gru = nn.GRU(_MIX, _HIDDEN, bidirectional=True, batch_first=True)
    roles, join = nn.Linear(_MIX + 2 * _HIDDEN, len(ROLES)), nn.Linear(_MIX + 2 * _HIDDEN, 1)
    parts = nn.ModuleList([vector, heading, mix, gru, roles, join])
    optimiser = torch.optim.AdamW(parts.parameters(), lr=rate, weight_decay=0.02)
    data = [
        (d.vectors, d.headings, ((d.layout - mean) * scale).astype(np.float32), d.roles, d.joins)
        for d in documents
    ]
    steps = max(1, (len(data) + _BATCH - 1) // _BATCH)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, rate, total_steps=rounds * steps)
    dropout = nn.Dropout(drop)
    order = np.random.default_rng(seed)
    lengths = np.array([len(d.roles) for d in documents])
    for number in range(rounds):
        total = count = 0.0
        ranked = np.argsort(lengths + order.integers(0, 12, len(data)))
        batches = [ranked[at : at + _BATCH] for at in range(0, len(data), _BATCH)]
        order.shuffle(batches)
        for batch in batches:
            v, h, plain, r, j, mask = _padded([data[index] for index in batch])
            if order.random() < _HEADINGS_DROPPED:
                h = torch.zeros_like(h)
            x = torch.cat([vector(dropout(v)), heading(dropout(h)), plain], 2)
            x = dropout(torch.relu(mix(x)))
            packed = nn.utils.rnn.pack_padded_sequence(
                x, mask.sum(1).long(), batch_first=True, enforce_sorted=False
            )
            out, _ = nn.utils.rnn.pad_packed_sequence(gru(packed)[0], batch_first=True)
            full = dropout(torch.cat([x, out], 2))[mask]
            loss = nn.functional.cross_entropy(
                roles(full), r[mask], reduction="sum", label_smoothing=0.03
            ) + _JOIN_WEIGHT * nn.functional.binary_cross_entropy_with_logits(
                join(full)[:, 0], j[mask], reduction="sum"
            )
            atoms = int(mask.sum())
            optimiser.zero_grad()
            (loss / atoms).backward()  # type: ignore[no-untyped-call,unused-ignore]
            nn.utils.clip_grad_norm_(parts.parameters(), 1.0)
            optimiser.step()
            schedule.step()
            total, count = total + float(loss.detach()), count + atoms
        tell(f"round {number + 1} of {rounds}: loss {total / count:.4f}")
    return _laid_out(vector, heading, mix, gru, roles, join, mean, scale)


def _padded(
    batch: Sequence[tuple[Any, ...]],
) -> tuple[torch.Tensor, ...]:
    """The documents of a batch side by side, and which places are atoms."""
    import torch

    padded = [
        torch.nn.utils.rnn.pad_sequence(
            [torch.as_tensor(document[part]) for document in batch], batch_first=True
        )
        for part in range(5)
    ]
    lengths = torch.tensor([len(document[3]) for document in batch])
    mask = torch.arange(padded[3].shape[1])[None] < lengths[:, None]
    return (*padded, mask)


def _laid_out(
    vector: torch.nn.Linear,
    heading: torch.nn.Linear,
    mix: torch.nn.Linear,
    gru: torch.nn.GRU,
    roles: torch.nn.Linear,
    join: torch.nn.Linear,
    mean: Floats,
    scale: Floats,
) -> Mapping[str, Floats]:
    def turned(matrix: torch.Tensor) -> Floats:
        return np.ascontiguousarray(matrix.detach().numpy().T, np.float32)

    arrays = {
        "vector": turned(vector.weight),
        "heading": turned(heading.weight),
        "mix": turned(mix.weight),
        "mix.bias": mix.bias.detach().numpy(),
        "roles": turned(roles.weight),
        "roles.bias": roles.bias.detach().numpy(),
        "join": turned(join.weight),
        "join.bias": join.bias.detach().numpy(),
        "mean": mean.astype(np.float32),
        "scale": scale.astype(np.float32),
        "temperature": np.ones(1, np.float32),
    }
    for name, end in (("forward", ""), ("backward", "_reverse")):
        state = dict(gru.named_parameters())
        arrays[f"{name}.outer"] = turned(state[f"weight_ih_l0{end}"])
        arrays[f"{name}.outer.bias"] = state[f"bias_ih_l0{end}"].detach().numpy()
        arrays[f"{name}.inner"] = turned(state[f"weight_hh_l0{end}"])
        arrays[f"{name}.inner.bias"] = state[f"bias_hh_l0{end}"].detach().numpy()
    return arrays
