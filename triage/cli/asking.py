"""Questions at the terminal, one line each."""

from __future__ import annotations

import sys

from triage.cli.out import say


def at_terminal() -> bool:
    """Whether somebody is there to answer."""
    return sys.stdin is not None and sys.stdin.isatty()


def ask(question: str) -> str | None:
    """The answer without blanks around it, None at the end of the input."""
    say(f"{question} ")
    line = sys.stdin.readline()
    if not line:
        say("\n")
        return None
    return line.strip()


def agreed(question: str) -> bool:
    """Whether the answer is yes."""
    return (ask(f"{question} [y/n]") or "").casefold() in ("y", "yes")


def pasted(what: str, end: str = ".") -> str:
    """What is pasted, up to a line with only `end` or the end of the input."""
    say(f"Paste {what}, then a line with only '{end}':\n")
    lines = []
    for line in sys.stdin:
        if line.strip() == end:
            break
        lines.append(line)
    return "".join(lines)
