"""Fits the heads alone, on the vectors of an encoder that stays as it is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from triage.training.encoder_fit import truth_of
from triage.training.examples import Example

Floats = NDArray[np.float32]


def fit_heads(
    vectors: Floats,
    examples: Sequence[Example],
    targets: Sequence[str],
    *,
    start: tuple[Floats, Floats] | None = None,
    rounds: int = 12,
    rate: float = 3e-3,
    seed: int = 0,
) -> tuple[Floats, Floats]:
    """Weights (size, targets) and bias (targets,) of all heads; vectors are (examples, size)."""
    import torch

    torch.manual_seed(seed)
    truth = truth_of(examples, targets)
    data = torch.tensor(vectors)
    head = torch.nn.Linear(vectors.shape[1], len(targets))
    if start is not None:
        head.weight.data, head.bias.data = torch.tensor(start[0].T), torch.tensor(start[1])
    optimiser = torch.optim.AdamW(head.parameters(), lr=rate, weight_decay=0.01)
    steps = rounds * (len(examples) // 256)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, rate, total_steps=max(1, steps))
    chance = np.random.default_rng(seed)
    for _ in range(rounds):
        order = chance.permutation(len(examples))
        for at in range(0, len(order) - 255, 256):
            rows = order[at : at + 256].tolist()
            loss = truth.loss(head(torch.nn.functional.dropout(data[rows], 0.1)), rows)
            optimiser.zero_grad()
            loss.backward()  # type: ignore[no-untyped-call,unused-ignore]
            optimiser.step()
            schedule.step()
    weight, bias = head.weight.detach().numpy(), head.bias.detach().numpy()
    return np.ascontiguousarray(weight.T), bias
