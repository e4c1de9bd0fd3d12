"""Time grows with the length and no faster: every reader on n, 2n and 4n of each hostile shape."""

from contextlib import suppress
from time import process_time

import pytest

from tests.reading.formats.hostile import SHAPES
from triage.domain.notes import SourceFormat
from triage.errors import TriageError
from triage.reading.formats import document_blocks

SIZE = 30_000
FORMS = (SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML, SourceFormat.MAIL)


def seconds(data: bytes, form: SourceFormat) -> float:
    start = process_time()
    with suppress(TriageError):  # a clear refusal is an answer too
        document_blocks(data, "x", form)
    return process_time() - start


def test_there_are_enough_shapes() -> None:
    assert len(SHAPES) >= 60


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", SHAPES)
def test_time_grows_with_the_length(name: str, form: SourceFormat) -> None:
    one, two, four = (seconds(SHAPES[name](SIZE * k).encode(), form) for k in (1, 2, 4))
    if four < 0.3:  # quadratic would show at this size, and the clock is coarse below
        return
    again = min(seconds(SHAPES[name](SIZE * 4).encode(), form) for _ in range(2))
    assert min(four, again) < 7 * max(one, two / 2, 0.05), (one, two, four, again)


@pytest.mark.parametrize("form", FORMS)
def test_a_megabyte_line_is_read_in_seconds(form: SourceFormat) -> None:
    assert seconds(b"Fixed the return; added a mode, and more. " * 24_000, form) < 10
