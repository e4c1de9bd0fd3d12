"""What is kept out of the fitting is whole styles, and the items read twice."""

from __future__ import annotations

from triage.domain.kinds import Kind
from triage.training.corpus import read_corpus
from triage.training.fit import truths
from triage.training.held_out import KEPT_OUT, kept_out


def test_whole_styles_are_kept_out_and_others_hold_their_own() -> None:
    items = read_corpus()
    kept = kept_out(items)
    assert set(KEPT_OUT) <= {item.style for item in items}
    fitted = {item.style for item, out in zip(items, kept, strict=True) if not out}
    assert not fitted & set(KEPT_OUT)
    assert len(fitted) >= 60


def test_enough_of_each_kind_is_kept_out_to_calibrate_on() -> None:
    items = read_corpus()
    counts = truths(items)[kept_out(items)].sum(axis=0)
    assert dict(zip(Kind, counts.tolist(), strict=True)).keys() == set(Kind)
    assert counts.min() >= 500


def test_items_read_twice_are_kept_out() -> None:
    items = read_corpus()
    kept = kept_out(items)
    elsewhere = [i for i, out in zip(items, kept, strict=True) if out and i.style not in KEPT_OUT]
    assert len(elsewhere) >= 300
