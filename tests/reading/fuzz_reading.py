"""Coverage-guided fuzzing of the readers; any exception but the project's own is a finding.

Needs `pip install atheris`; run: python tests/reading/fuzz_reading.py -max_total_time=60
"""

import sys
from contextlib import suppress

import atheris  # type: ignore[import-untyped]

with atheris.instrument_imports(include=["triage.reading"]):
    from triage.domain.notes import SourceFormat
    from triage.errors import TriageError
    from triage.reading.reader import read
    from triage.reading.tools import shipped_tools

TOOLS = shipped_tools()


def one_input(data: bytes) -> None:
    """The first byte picks the format, the rest is the document."""
    if not data:
        return
    form = [None, SourceFormat.TEXT, SourceFormat.MARKDOWN, SourceFormat.HTML][data[0] % 4]
    with suppress(TriageError):
        read(data[1:], "fuzz", TOOLS, format=form)


if __name__ == "__main__":
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()
