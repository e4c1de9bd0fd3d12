"""A small PDF made by hand, for tests."""

from collections.abc import Sequence

Text = tuple[float, float, str, float]  # x and y in points from the lower left corner, words, size


def pdf(pages: Sequence[Sequence[Text]], streams: Sequence[bytes] = ()) -> bytes:
    """Pages of texts in Helvetica; `streams`: packed contents, each of one more page."""
    objects = [b"<< /Type /Catalog /Pages 2 0 R >>", b""]
    objects.append(
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>"
    )
    kids = []
    contents = [(b"", "".join(map(_show, page)).encode("cp1252", "replace")) for page in pages]
    contents += [(b" /Filter /FlateDecode", stream) for stream in streams]
    for more, content in contents:
        head = b"<< /Length %d%s >>\nstream\n" % (len(content), more)
        objects.append(head + content + b"\nendstream")
        kids.append(len(objects) + 1)
        objects.append(
            b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Resources"
            b" << /Font << /F1 3 0 R >> >> /Contents %d 0 R >>" % len(objects)
        )
    refs = " ".join(f"{kid} 0 R" for kid in kids)
    objects[1] = f"<< /Type /Pages /Count {len(kids)} /Kids [{refs}] >>".encode()
    out, places = b"%PDF-1.4\n", []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    end = (
        f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n{table}trailer\n"
        f"<< /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF"
    )
    return out + end.encode()


def _show(text: Text) -> str:
    x, y, words, size = text
    escaped = words.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
    return f"BT /F1 {size} Tf 1 0 0 1 {x} {y} Tm ({escaped}) Tj ET\n"


def page(*lines: str, top: float = 780, left: float = 60, size: float = 10) -> list[Text]:
    """Lines one below the other; an empty one leaves room."""
    return [(left, top - 13 * n, line, size) for n, line in enumerate(lines) if line]
