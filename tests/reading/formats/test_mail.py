import base64
import quopri

import pytest

from triage.domain.notes import SourceFormat
from triage.errors import SourceError
from triage.reading.formats import Document, document_blocks
from triage.reading.formats.blocks import Shape

HEAD = "From: Tern <news@tern.example>\nSubject: {subject}\nDate: Thu, 12 Nov 2026 07:02:11 +0000\n"
WORDS = "Für den Tern gibt es 4.2.1 – it stops the motors from cutting out, we promise that.\n"


def read(text: str | bytes, name: str = "m.eml") -> Document:
    return document_blocks(text if isinstance(text, bytes) else text.encode(), name)


def alternatives(*parts: tuple[str, str]) -> str:
    body = "".join(f"--b\nContent-Type: {kind}\n\n{words}\n" for kind, words in parts)
    return HEAD.format(subject="S") + (
        f"MIME-Version: 1.0\nContent-Type: multipart/alternative; boundary=b\n\n{body}--b--\n"
    )


@pytest.mark.parametrize("name", ["m.eml", "pasted.txt"])
def test_a_plain_mail_is_read_where_it_stands(name: str) -> None:
    source = (
        HEAD.format(subject="Hotfix 4.2.1\n for the Tern")
        + "To: you\n\nDear owner,\n\n- one\n> said\n"
    )
    document = read(source, name)
    assert (document.source.format, document.text) == (SourceFormat.MAIL, source)
    assert [(b.shape, b.text, b.quoted) for b in document.blocks] == [
        (Shape.HEADING, "Hotfix 4.2.1 for the Tern", 0),
        (Shape.LINE, "Date: Thu, 12 Nov 2026 07:02:11 +0000", 0),
        (Shape.LINE, "Dear owner,", 0),
        (Shape.ENTRY, "one", 0),
        (Shape.LINE, "said", 1),
    ]
    last = document.blocks[-1].mapped
    assert source[slice(*last.span())] == "said"


@pytest.mark.parametrize("encoding", ["base64", "quoted-printable"])
def test_an_encoded_body_and_subject(encoding: str) -> None:
    encode = base64.encodebytes if encoding == "base64" else quopri.encodestring
    head = HEAD.format(subject="=?utf-8?q?F=C3=BCr_Tern?= =?utf-8?b?NC4y?=") + (
        f"Content-Type: text/plain; charset=utf-8\nContent-Transfer-Encoding: {encoding}\n\n"
    )
    document = read(head.encode() + encode(WORDS.encode()))
    assert [b.text for b in document.blocks][::2] == ["Für Tern4.2", WORDS.strip()]


def test_the_part_that_holds_more_is_read() -> None:
    page = "<html><h1>Version 4.2</h1><ul><li>Fixed A<li>Fixed B</ul></html>"
    found = read(alternatives(("text/plain", "Version 4.2\nFixed A, Fixed B"), ("text/html", page)))
    assert [b.shape for b in found.blocks[2:]] == [Shape.HEADING, Shape.ENTRY, Shape.ENTRY]
    hollow = "<html><p>Please view it in a browser.</html>"
    found = read(alternatives(("text/plain", WORDS * 3), ("text/html", hollow)))
    assert found.blocks[-1].text == WORDS.strip()


def test_an_attachment_is_named() -> None:
    mail = alternatives(("text/plain", "See it."), ("application/pdf; name=notes.pdf", "x"))
    assert read(mail).remarks == ("the attachment notes.pdf was not read; save it and read it too",)
    with pytest.raises(SourceError, match="no text in it; save what is attached"):
        read(alternatives(("application/pdf; name=notes.pdf", "x")))


def test_a_saved_page_in_the_form_of_a_mail() -> None:
    page = quopri.encodestring(
        b"<html><p>Version 4.2</p><table><tr><td>a<td>b</table></html>"
    ).decode()
    saved = (
        "From: <Saved by a browser>\nSubject: Notes\nMIME-Version: 1.0\n"
        "Content-Type: multipart/related; boundary=b\n\n--b\nContent-Type: text/html\n"
        f"Content-Transfer-Encoding: quoted-printable\n\n{page}\n"
        "--b\nContent-Type: text/css\n\np {}\n--b\nContent-Type: image/png\n\nx\n--b--\n"
    )
    document = read(saved, "page.mht")
    assert [b.text for b in document.blocks] == ["Notes", "Version 4.2", "a b"]
    assert not document.remarks


@pytest.mark.parametrize("depth", [40, 400, 4000])
def test_parts_nested_without_end_are_no_trouble(depth: int) -> None:
    parts = "".join(
        f"--b{n}\nContent-Type: multipart/mixed; boundary=b{n + 1}\n\n" for n in range(depth)
    )
    head = HEAD.format(subject="S") + "Content-Type: multipart/mixed; boundary=b0\n\n"
    try:
        assert read(head + parts + f"--b{depth}\n\nwords").blocks
    except SourceError as error:
        assert "no text" in str(error)


def test_names_and_values_are_no_mail() -> None:
    assert (
        read("Date: 2027/01/05\nModel: Heron\n\nNew: a\n", "n.txt").source.format
        is SourceFormat.TEXT
    )
