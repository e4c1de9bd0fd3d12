"""Reading what a form sends; a field that does not hold is a ConfigError in one line."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from triage.errors import ConfigError, SourceError
from triage.web.guard import BODY_LIMIT

if TYPE_CHECKING:
    from triage.web.desk import Desk

MOST_FIELDS = 2000
PASTE = "paste"


def desk_of(request: Request) -> Desk:
    """The session's desk."""
    desk: Desk = request.app.state.desk
    return desk


async def form_of(request: Request) -> FormData:
    """The whole form."""
    return await request.form(max_fields=MOST_FIELDS, max_files=4, max_part_size=BODY_LIMIT)


def text(form: FormData, name: str) -> str:
    """A text field without blanks around it, '' when it is missing."""
    value = form.get(name, "")
    return value.strip() if isinstance(value, str) else ""


async def document(form: FormData) -> tuple[bytes, str]:
    """The file sent, else the text pasted, with a name to call it by."""
    upload = form.get("file")
    if isinstance(upload, UploadFile) and upload.filename:
        return await upload.read(), upload.filename.replace("\\", "/").rpartition("/")[2][:120]
    pasted = form.get("text", "")
    if not isinstance(pasted, str) or not pasted.strip():
        raise SourceError("nothing was pasted and no file chosen", mend="paste the release notes")
    return pasted.replace("\r\n", "\n").encode("utf-8", "replace"), PASTE


def day(form: FormData, name: str) -> dt.date | None:
    """A date, None when the field is empty."""
    words = text(form, name)
    if not words:
        return None
    try:
        return dt.date.fromisoformat(words)
    except ValueError as error:
        raise ConfigError(f"'{words[:40]}' is no date", mend="write it as YYYY-MM-DD") from error


def number(form: FormData, name: str) -> int | None:
    """A whole number from 0, None when the field is empty."""
    words = text(form, name).rstrip("%").strip()
    if not words:
        return None
    if not (words.isascii() and words.isdecimal() and len(words) < 10):
        raise ConfigError(f"'{words[:40]}' is no whole number", mend="write digits only")
    return int(words)
