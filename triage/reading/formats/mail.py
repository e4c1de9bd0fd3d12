"""Mails (.eml) and saved pages in the form of mails (.mht) to blocks.

A mail that needs no decoding is read where it stands; of another the text read is its head and the
body chosen. Errors: SourceError for a mail without a body.
"""

from __future__ import annotations

import email
import email.errors
import email.header
import email.message
import re
from collections.abc import Iterator

from triage.domain.notes import SourceFormat
from triage.errors import SourceError
from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.decode import Decoded, decode
from triage.reading.formats.html import html_blocks
from triage.reading.formats.inline import plain
from triage.reading.formats.pages import paged_blocks
from triage.reading.formats.screen import screen
from triage.reading.formats.sniff import is_mail, sniff
from triage.reading.mapped import whole

_HEAD_END = re.compile(r"\r?\n[ \t]*(?:\r?\n|\Z)|\r[ \t]*\r")
_FIELD = re.compile(r"^(subject|date):[ \t]*([^\r\n]*(?:\r?\n[ \t]+\S[^\r\n]*){0,20})", re.I | re.M)
_HTML = re.compile(r"^content-type:\s{0,5}text/html", re.I | re.M)
_ENCODED = re.compile(
    r"^content-type:\s{0,9}multipart/|^content-transfer-encoding:\s{0,9}(?:base64|quoted-printable|x-?uu)"
    r"|=\?[\w-]{2,40}\?[bq]\?",
    re.I | re.M,
)
_MIME = re.compile(r"^mime-version:", re.I | re.M)
_SHOWN = ("From", "To", "Subject", "Date")
_MOST_PARTS = 200


def mail_blocks(text: str, remarks: list[str] | None = None) -> Iterator[Block]:
    """Blocks of a decoded mail: subject, date and body; the other fields are left out."""
    end = _HEAD_END.search(text)
    stop = end.start() if end else len(text)
    for found in _FIELD.finditer(text, 0, stop):
        words = plain(whole(found[2], found.start(2)))
        if found[1].lower() == "subject" and words.text:
            yield Block(Shape.HEADING, words, level=1)
        elif words.text:
            yield Block(Shape.LINE, plain(whole(found[0], found.start())), gap=1)
    if end is None:
        return
    body = text[end.end() :]
    if _HTML.search(text, 0, stop) or sniff(body, "") is SourceFormat.HTML:
        yield from html_blocks(body, end.end(), remarks)
        return
    for number, block in enumerate(paged_blocks(body, end.end())):
        yield block._replace(gap=max(1, block.gap)) if number == 0 else block


def unpacked(data: bytes, name: str) -> Decoded | None:
    """The head and the chosen body of an encoded mail; None for what is no mail, or needs none."""
    head = data[:65_536].decode("latin-1")
    known = name.lower().endswith((".eml", ".mht", ".mhtml"))
    if not (known or is_mail(head) or _MIME.search(head[:4000])):
        return None
    end = _HEAD_END.search(head)
    fields = head[: end.start()] if end else head
    if not _ENCODED.search(fields):
        return None
    remarks: list[str] = []
    try:
        message = email.message_from_bytes(data)
        texts = list(_texts(message, name, remarks))
    except (RecursionError, email.errors.MessageError, LookupError, ValueError):
        return None
    if not texts:
        raise SourceError(
            "the mail has no text in it", where=name, mend="save what is attached to it"
        )
    return _put_together(message, texts, remarks)


def _put_together(
    message: email.message.Message, texts: list[tuple[str, Decoded]], remarks: list[str]
) -> Decoded:
    longest = max(texts, key=lambda pair: _weight(*pair))[0]
    bodies = [decoded for kind, decoded in texts if kind == longest]
    head = [f"{field}: {_field(message, field)}" for field in _SHOWN if message.get(field)]
    head.append(f"Content-Type: {longest}")
    remarks += [remark for body in bodies for remark in body.remarks]
    text = "\n".join(head) + "\n\n" + "\n\n".join(body.text for body in bodies)
    return Decoded(screen(text), bodies[0].encoding, tuple(dict.fromkeys(remarks)))


def _weight(kind: str, decoded: Decoded) -> float:
    """How much of the mail a part holds: characters read; a page counts double for its layout."""
    if kind != "text/html":
        return len(decoded.text.strip())
    return 2.0 * sum(len(block.text) for block in html_blocks(screen(decoded.text)))


def _texts(
    message: email.message.Message, name: str, remarks: list[str]
) -> Iterator[tuple[str, Decoded]]:
    """The parts that hold text, each with its type; attachments are named in the remarks."""
    for number, one in enumerate(message.walk()):
        if number > _MOST_PARTS:
            remarks.append(f"the mail has more than {_MOST_PARTS} parts; the others were left out")
            return
        kind = one.get_content_type()
        if one.is_multipart():
            continue
        attached = one.get_content_disposition() == "attachment"
        if attached or kind not in ("text/plain", "text/html"):
            file = _decoded_words(one.get_filename() or "")
            if attached or (file and not kind.startswith(("image/", "text/css", "font/"))):
                remarks.append(
                    f"the attachment {file or kind} was not read; save it and read it too"
                )
            continue
        payload = one.get_payload(decode=True)
        if isinstance(payload, bytes) and payload.strip():
            yield kind, decode(payload, name, one.get_content_charset() or "")


def _field(message: email.message.Message, field: str) -> str:
    return " ".join(_decoded_words(str(message.get(field, ""))).split())


def _decoded_words(value: str) -> str:
    """A field with its encoded words decoded, and odd bytes made plain."""
    try:
        words = str(email.header.make_header(email.header.decode_header(value)))
    except (LookupError, ValueError, email.errors.MessageError):
        words = value
    return words.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
