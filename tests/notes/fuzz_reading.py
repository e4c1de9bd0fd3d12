"""Coverage-guided fuzzing of the readers; any exception but SourceError is a finding.

Needs `pip install atheris`; run: python tests/notes/fuzz_reading.py -max_total_time=60
"""

import sys
from contextlib import suppress

import atheris  # type: ignore[import-untyped]

with atheris.instrument_imports(include=["triage.notes"]):
    from triage.domain.notes import SourceFormat
    from triage.errors import SourceError
    from triage.notes import html_reader, markdown_reader, read  # noqa: F401


def one_input(data: bytes) -> None:
    """The first byte picks the format, the rest is the document."""
    if not data:
        return
    form = [None, SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML][data[0] % 4]
    with suppress(SourceError):
        read(data[1:], "fuzz", format=form)


if __name__ == "__main__":
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()
