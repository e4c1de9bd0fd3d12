"""Everything the tool raises on purpose.

TriageError            exit status 2; one line for the user
├── SourceError        release notes that cannot be read
├── ConfigError        a policy, kit, vocabulary or other settings file that does not hold
├── ModelError         a model file that is missing, altered or of another version
└── StoreError         reports, snapshots, runs or journal that cannot be read or written

Each error says what is wrong, where (file and line when known), and the mend.
"""

from __future__ import annotations


class TriageError(Exception):
    """A fault the user can mend; `str()` is the whole one-line message."""

    def __init__(
        self, problem: str, *, where: str = "", line: int | None = None, mend: str = ""
    ) -> None:
        self.problem, self.where, self.line, self.mend = problem, where, line, mend
        super().__init__(self._message())

    def _message(self) -> str:
        place = self.where if self.line is None else f"{self.where or 'line'}:{self.line}"
        head = f"{place}: {self.problem}" if place else self.problem
        message = f"{head}; {self.mend}" if self.mend else head
        return " ".join(message.split())


class SourceError(TriageError):
    """Release notes that cannot be read."""


class ConfigError(TriageError):
    """A settings or data file that does not hold."""


class ModelError(TriageError):
    """A model file that is missing, altered or made by another version."""


class StoreError(TriageError):
    """A record of the operator's that cannot be read or written."""
