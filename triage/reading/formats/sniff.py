"""Guesses the format of a document."""

from __future__ import annotations

import re

from triage.domain.notes import SourceFormat

_SNIFF = 65_536
_TAG = re.compile(r"</?(?:html|body|head|h[1-6]|ul|ol|li|p|div|table|tr|td|br|span)\b", re.I)
_ANY_TAG = re.compile(r"</?[a-z][a-z0-9]{0,15}(?:[\s/][^<>]{0,300})?>", re.I)
_MARKDOWN = re.compile(
    r"^#{1,6} \S|^```|^\|? ?:?-{3,}:? ?\||\]\((?:https?:|/|#)|^\[[^\]\n]{1,80}\]: |\*\*\S", re.M
)
_TITLED = re.compile(r"\s*#{1,2} \S")
_PAGE = re.compile(r"\s*(?:<\?xml[^<>]{0,200}>\s*)?<(?:!doctype\s{1,5}html|html)\b", re.I)
_FIELD = re.compile(r"([A-Za-z][A-Za-z0-9-]{1,40}):(?:[ \t]|\r?\n)")
_HEAD_LINES = 200
_ENDINGS = {
    "md": SourceFormat.MARKDOWN,
    "markdown": SourceFormat.MARKDOWN,
    "mdown": SourceFormat.MARKDOWN,
    "html": SourceFormat.HTML,
    "htm": SourceFormat.HTML,
    "xhtml": SourceFormat.HTML,
}
_PICTURES = ((b"\x89PNG\r\n", 0), (b"\xff\xd8\xff", 0), (b"WEBP", 8))


def sniff_bytes(data: bytes) -> SourceFormat | None:
    """PDF or picture by the first bytes; a PDF's mark may stand within the first kilobyte."""
    if b"%PDF-" in data[:1024]:
        return SourceFormat.PDF
    if any(
        data[at:].startswith(mark) for mark, at in ((m, a) for m, a in _PICTURES if len(data) > a)
    ):
        return SourceFormat.PICTURE
    return None


def sniff(text: str, name: str) -> SourceFormat:
    """Mail, HTML, Markdown or text: by the text's own form, by the file's ending if undecided."""
    ending = name.rsplit(".", 1)[-1].lower() if "." in name else ""
    if is_mail(text, known=ending in ("eml", "mht", "mhtml")):
        return SourceFormat.MAIL
    head = text[:_SNIFF].replace("\r", "\n")
    tags = len(_TAG.findall(head))
    if _PAGE.match(head):
        return SourceFormat.HTML
    if ending in _ENDINGS and (_ENDINGS[ending] is not SourceFormat.HTML or _ANY_TAG.search(head)):
        return _ENDINGS[ending]
    marks = len(_MARKDOWN.findall(head))
    if tags >= 2 and tags > 2 * marks:
        return SourceFormat.HTML
    share = marks / (head.count("\n") + 1)
    if (marks >= 2 and share >= (0.1 if ending == "txt" else 0.04)) or _TITLED.match(head):
        return SourceFormat.MARKDOWN
    return SourceFormat.TEXT


def is_mail(text: str, *, known: bool = False) -> bool:
    """Whether it begins with the head of a mail: fields, sender and subject among them.

    `known`: the file's ending says so, any two fields will do.
    """
    fields = set()
    for number, line in enumerate(text[:_SNIFF].lstrip("\ufeff").splitlines()):
        found = _FIELD.match(line + "\n")
        if found:
            fields.add(found[1].lower())
        elif not (line[:1] in " \t" and line.strip() and fields) and not line.startswith("From "):
            break
        if number > _HEAD_LINES:
            break
    return len(fields) > 1 if known else {"from", "subject"} <= fields
