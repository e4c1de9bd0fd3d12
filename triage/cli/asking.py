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


def key(question: str) -> str:
    """One key at a terminal, else the first letter of a line; 'q' at the end of the input."""
    if not at_terminal():
        reply = ask(question)
        return "q" if reply is None else reply[:1]
    say(f"{question} ")
    pressed = _pressed()
    say(f"{pressed if pressed.isprintable() else ''}\n")
    return pressed


def _pressed() -> str:
    try:
        import termios
        import tty
    except ImportError:  # Windows
        import msvcrt

        return str(msvcrt.getwch())  # type: ignore[attr-defined]
    file = sys.stdin.fileno()
    before = termios.tcgetattr(file)
    try:
        tty.setraw(file)
        return sys.stdin.read(1)
    finally:
        termios.tcsetattr(file, termios.TCSADRAIN, before)


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
