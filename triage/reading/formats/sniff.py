"""Guesses the format of a decoded document."""

from __future__ import annotations

import re

_SNIFF = 65_536
_TAG = re.compile(r"</?(?:html|body|head|h[1-6]|ul|ol|li|p|div|table|tr|td|br|span)\b", re.I)
_MARKDOWN = re.compile(
    r"^#{1,6} \S|^```|^\|? ?:?-{3,}:? ?\||\]\((?:https?:|/|#)|^\[[^\]\n]{1,80}\]: |\*\*\S", re.M
)
_TITLED = re.compile(r"\s*#{1,2} \S")


def sniff(text: str, name: str) -> str:
    """text, markdown or html: by the text's own markup, by the file's ending where undecided."""
    head = text[:_SNIFF].replace("\r", "\n")
    ending = name.rsplit(".", 1)[-1].lower() if "." in name else ""
    if ending in ("md", "markdown", "mdown"):
        return "markdown"
    if ending in ("html", "htm", "xhtml"):
        return "html"
    marks, tags = len(_MARKDOWN.findall(head)), len(_TAG.findall(head))
    if tags >= 2 and tags > 2 * marks:
        return "html"
    share = marks / (head.count("\n") + 1)
    if (marks >= 2 and share >= (0.1 if ending == "txt" else 0.04)) or _TITLED.match(head):
        return "markdown"
    return "text"
