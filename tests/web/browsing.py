"""What the browser tests share: Debian's chromium, and axe-core where TRIAGE_AXE names it."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or ""
AXE = os.environ.get("TRIAGE_AXE", "")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
# The success criteria of WCAG 2.2 at levels A and AA, as axe-core tags them.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def violations(page: Any, only: tuple[str, ...] = ()) -> list[str]:
    """What axe-core finds against WCAG 2.2 AA, one line each; `only` names rules of it."""
    page.evaluate(Path(AXE).read_text(encoding="utf-8"))
    chosen = {"type": "rule", "values": only} if only else {"type": "tag", "values": TAGS}
    found = page.evaluate("chosen => axe.run(document, {runOnly: chosen})", chosen)
    return [
        f"{v['id']}: {node['target']} {node['html'][:120]} {node['failureSummary'][:200]}"
        for v in found["violations"]
        for node in v["nodes"][:3]
    ]
