"""Candidates for telling the roles of statements, all fitted to the same documents.

Run with `PYTHONPATH=. .venv/bin/python tests/benchmarks/bench_roles.py` (extra `encoder`, some
minutes). Prints for each candidate the accuracy by atom, the F1 of changes, and macro-F1 over the
roles, on the documents kept out.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np
import torch
from torch import nn

from triage.classify import encoder_file
from triage.classify.recogniser import Recogniser
from triage.domain.notes import Role
from triage.reading.roles import ROLES, RoleNetwork
from triage.reading.version_lines import first_component as component_in
from triage.training.corpora import read_corpora
from triage.training.reading_fit import vectors_of
from triage.training.roles_fit import Read, fit_roles, sequence

Told = Callable[[Read], np.ndarray]


def windowed(document: Read, reach: int) -> np.ndarray:
    """Vector, heading and layout of each atom, with the layout and vectors of its neighbours."""
    own = np.concatenate([document.vectors, document.layout], axis=1)
    parts = [document.headings]
    for step in range(-reach, reach + 1):
        moved = np.zeros_like(own)
        if step == 0:
            moved = own
        elif step > 0:
            moved[:-step] = own[step:]
        else:
            moved[-step:] = own[:step]
        parts.append(moved)
    return np.concatenate(parts, axis=1).astype(np.float32)


def linear(documents: Sequence[Read], reach: int = 2) -> Told:
    """A linear model over a window of atoms."""
    data = np.concatenate([windowed(d, reach) for d in documents])
    mean, scale = data.mean(0), 1 / np.maximum(data.std(0), 0.05)
    x = torch.tensor((data - mean) * scale)
    y = torch.tensor(np.concatenate([d.roles for d in documents]))
    model = nn.Linear(x.shape[1], len(ROLES))
    optimiser = torch.optim.AdamW(model.parameters(), lr=2e-3, weight_decay=0.3)
    for _ in range(25):
        for rows in torch.randperm(len(x)).split(256):  # type: ignore[no-untyped-call,unused-ignore]
            loss = nn.functional.cross_entropy(model(x[rows]), y[rows])
            optimiser.zero_grad()
            loss.backward()  # type: ignore[no-untyped-call,unused-ignore]
            optimiser.step()

    def told(document: Read) -> np.ndarray:
        with torch.no_grad():
            scores = model(torch.tensor((windowed(document, reach) - mean) * scale))
        out: np.ndarray = scores.numpy()
        return out

    return told


def chained(documents: Sequence[Read]) -> Told:
    """A linear-chain conditional random field over the same window (J. Lafferty et al., 2001)."""
    scored = linear(documents)
    emissions = [torch.tensor(scored(d)) for d in documents]
    roles = [torch.tensor(d.roles) for d in documents]
    moves = nn.Parameter(torch.zeros(len(ROLES), len(ROLES)))
    strength = nn.Parameter(torch.ones(1))
    optimiser = torch.optim.Adam([moves, strength], lr=0.05)
    for _ in range(6):
        for index in torch.randperm(len(documents)).tolist():
            scores, truth = emissions[index] * strength, roles[index]
            ahead = scores[0]
            for row in scores[1:]:
                ahead = torch.logsumexp(ahead[:, None] + moves, 0) + row
            path = scores.gather(1, truth[:, None]).sum() + moves[truth[:-1], truth[1:]].sum()
            loss = (torch.logsumexp(ahead, 0) - path) / len(truth)
            optimiser.zero_grad()
            loss.backward()
            optimiser.step()
    steps, factor = moves.detach().numpy(), float(strength)

    def told(document: Read) -> np.ndarray:
        scores = scored(document) * factor
        best, back = scores[0], []
        for row in scores[1:]:
            total = best[:, None] + steps
            back.append(total.argmax(0))
            best = total.max(0) + row
        at = [int(best.argmax())]
        for links in reversed(back):
            at.append(int(links[at[-1]]))
        return np.eye(len(ROLES))[at[::-1]]

    return told


def network(documents: Sequence[Read]) -> Told:
    """The network that is shipped."""
    model = RoleNetwork(fit_roles(documents))
    return lambda d: model.told(d.vectors, d.headings, d.layout).roles


def measured(told: Told, documents: Sequence[Read]) -> str:
    """Accuracy, F1 of changes, macro-F1."""
    truth = np.concatenate([d.roles for d in documents])
    said = np.concatenate([told(d).argmax(1) for d in documents])
    scores = {}
    for number, role in enumerate(ROLES):
        hit = int(((truth == number) & (said == number)).sum())
        both = int((truth == number).sum() + (said == number).sum())
        scores[role] = 2 * hit / both if both else 0.0
    macro = np.mean(list(scores.values()))
    return (
        f"accuracy {np.mean(truth == said):.3f}, F1 of changes {scores[Role.CHANGE]:.3f}, "
        f"macro-F1 {macro:.3f}"
    )


def main() -> None:
    """Fit and measure each."""
    torch.set_num_threads(1)
    torch.manual_seed(0)
    recogniser = Recogniser()
    encoder = encoder_file.shipped().encoder
    corpora = read_corpora(lambda title: component_in(title, recogniser))
    seen = [sequence(d, vectors_of(d, encoder)) for d in corpora.documents]
    unseen = [sequence(d, vectors_of(d, encoder)) for d in corpora.kept_documents]
    print(f"{len(seen)} documents fitted to, {len(unseen)} kept out")
    candidates: dict[str, Callable[[Sequence[Read]], Told]] = {
        "linear, no neighbours": lambda d: linear(d, 0),
        "linear, window of 5": linear,
        "linear-chain CRF": chained,
        "recurrent network (chosen)": network,
    }
    for name, fit in candidates.items():
        begun = time.perf_counter()
        told = fit(seen)
        print(f"{name}: {measured(told, unseen)}; fitted in {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
