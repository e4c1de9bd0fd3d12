"""Run as a process of its own: keeps decisions, and says of each that it is kept.

python -m tests.journal.writing JOURNAL NAME COUNT
"""

from __future__ import annotations

import sys

from tests.journal import making
from triage.errors import TriageError
from triage.journal.store import open_journal


def main(where: str, name: str, count: int) -> int:
    journal = open_journal(where, create=True, wait=60)
    for n in range(count):
        try:
            seq = making.add(journal, f"{name} {n}", notes=f"notes of {name} {n}")
        except TriageError as error:
            print(f"refused {error}", flush=True)
            return 2
        print(f"kept {seq} {journal.digest_of(seq)}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], int(sys.argv[3])))
