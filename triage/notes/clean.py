"""An item's words without what hangs on them: markup, links, hashes, thanks and sign-offs."""

from __future__ import annotations

import html
import re

from triage.notes.screen import screen, unhide

_GONE = "\ue000"  # stands for a removed reference, so that the words around it can go too
_CHARS = re.compile("[<\\[`*_#@&(\\\\\xad\u200b-\u200d\ufe0e\ufe0f]")
_TELLING = (
    " more",
    "thank",
    "credit",
    "kudos",
    "courtesy",
    "contributed",
    "-by",
    " by ",
    "://",
    "www.",
    " pr ",
    "thx",
)
_MAYBE_REF = re.compile(rf"[#@!{_GONE}]|\d\s*\Z|[0-9a-f]{{7}}")
_COMMENT = re.compile(r"<!--.*?(?:-->|\Z)", re.S)
_IMAGE = re.compile(r"!\[[^\]\[\n]{0,300}\]\([^()\s]{0,2000}[^()\n]{0,200}\)")
_LINK = re.compile(
    r"\[([^\]\[\n]{0,400})\](?:\(([^()\s]{0,2000}(?:\([^()\s]{0,200}\))?)[^()\n]{0,200}\)|\[[^\]\[\n]{0,100}\])"
)
_ANCHOR = re.compile(r"<a\b[^<>]{0,3000}>([^<>]{0,400})</a\s{0,3}>", re.I)
_TAG = re.compile(
    r"</?(?:a|b|i|u|s|p|em|strong|code|br|span|div|li|ul|ol|sup|sub|kbd|img|tt|font|details|summary"
    r"|small|mark|del|ins|wbr|input|svg|path|button|label|h[1-6])\b[^<>]{0,2000}>",
    re.I,
)
_URL = re.compile(
    r"<?(?:\bhttps?://|\bftp://|\bwww\.)[^\s<>()\]\"]{1,2000}(?:\([^\s()<>]{0,300}\))?[^\s<>()\]\"]{0,2000}>?"
)
_REF_WORD = (
    r"(?:(?:PR|MR|GH|issue|issues|bug|ticket|pull|commit|see|fixes|fixed|closes|resolves|refs?|cf"
    r"|via|and|also|in|by)\.?|[A-Za-z0-9_.-]{1,60}/[A-Za-z0-9_.-]{1,60}(?=\#))"
)
_HASH = r"(?=[0-9a-f]{0,39}\d)(?=\d{0,39}[a-f])[0-9a-f]{7,40}"
_REF = (
    r"(?:(?:[A-Za-z]{2,10}-|\#|!|GH-|PR\s?\#?|MR\s?!?)\d{1,7}"
    rf"|{_HASH}|@[\w-]{{1,60}}|{_GONE})"
)
_PLAIN_REF = re.compile(
    r"(?:\#|GH-|PR\s?\#?|MR\s?!)\d{1,7}\Z|[0-9a-f]{7,40}\Z|@[\w-]{1,60}\Z", re.I
)
_REFS = re.compile(
    rf"(?:\s*(?:{_REF_WORD}\s{{1,2}})?(?:issue\s)?{_REF}[,;.]?)+\s*\Z"
    rf"|\A(?:\s*{_REF}[,;:]?)+(?:\s*[-–—:])?\s*\Z",
    re.I,
)
_GROUP = re.compile(r"\s{0,3}[(\[]([^()\[\]]{0,300})[)\]]")
_LEAD_REF = re.compile(
    r"\A\s*(?:\[(?:#\d{1,7}|[A-Z]{2,10}-\d{1,6})\]|#\d{1,7}\b"
    r"|[A-Z]{2,10}-\d{1,6}(?=\s*[-–—:]))\s*[-–—:]?\s*"
)
_TAIL_REF = re.compile(
    r"(?:[\s,;:–—-]|(?:[,;:]\s*|\s[-–—]\s+)(?:fixes|closes|resolves)\b"
    rf"|\b(?:in|via|see|by|and|refs?|PR|issue)\b)*{_REF}[\s.,;]*\Z",
    re.I,
)
_MORE = re.compile(
    rf"(?:\bfor (?:more|further|additional)\b[^.!?{_GONE}]{{0,40}}"
    rf"|\bmore (?:info|information|details)\b[^.!?{_GONE}]{{0,40}}"
    rf"|\b(?:please )?(?:see|read|refer to)\b(?: also)?[^.!?{_GONE}]{{0,20}})"
    rf"(?:\s|,|and\b|&)*{_GONE}(?:{_GONE}|\s|,|and\b|&)*[.!]?",
    re.I,
)
_SIGNED = re.compile(
    r"\s*\b(?:signed-off-by|co-authored-by|reviewed-by|tested-by|reported-by|acked-by)\s*:.*\Z",
    re.I | re.S,
)
_THANKS = re.compile(
    r"(?:\A|(?<=[.!?])|(?<=[.!?]['\")])|[\s]*[-–—,;:(\[]+)\s*(?:(?:many|special|big|with)\s+)*"
    r"(?:thanks\b|thank you\b|thx\b|credits?(?:\s+(?:to|goes)\b|:)|kudos\b|courtesy of\b"
    r"|contributed by\b)"
    r"[^.!?\n]{0,200}(?:\.(?=\w)[^.!?\n]{0,60}){0,2}[.!)\]]*\s*\Z",
    re.I,
)
_BY = re.compile(
    rf"\s+by\s+(?:@[\w-]{{1,60}}(?:\[bot\])?|{_GONE})(?:,?\s+(?:and\s+)?@[\w-]{{1,60}})*(?:\s+in\s*{_GONE}?)?\s*\Z"
)
_STRONG = re.compile(r"\*\*|(?<![\w_])__(?=[^\s_])|(?<=[^\s_])__(?![\w_])|~~")
_EMPHASIS = re.compile(
    r"(?<![\w*])\*(?=[^\s*])([^*\n]{1,300})\*(?![\w*])|(?<![\w_])_(?=[^\s_])([^_\n]{1,300})_(?![\w_])"
)
_BACKSLASH = re.compile(r"\\([\\`*_{}\[\]()#+.!<>|~-])")
_CREDIT = re.compile(
    r"\W*(?:many |special |big )?(?:thanks|thank you|thx|credits?(?: to|:)|kudos)\b", re.I
)
_HANDLE = re.compile(r"@[\w-]+|\ue000")
_RST_LINK = re.compile(r"`([^`<>]{1,300}?)\s{0,3}<[^<>\s]{1,1000}>`__?")
_ALERT = re.compile(r"\A\s*\[!(NOTE|TIP|IMPORTANT|WARNING|CAUTION)\]\s*")
_TASK = re.compile(r"\A\s*\[[ xX]\]\s+")
_READ_MORE = re.compile(r"(?<=[.!?)])\s+(?:learn|read|show|see) more[.…»›> ]*\Z", re.I)
_EMPTY = re.compile(r"\s*[(\[][\s,;.&]*[)\]]")
_EDGE = " \t\n-–—:;,|•·"

_NUMBERING = re.compile(
    r"\A\s*(?:[(\[]?\d{1,3}[)\]]|\d{1,3}(?:\.\d{1,3}){0,3}[.):]?(?=\s)|[A-Za-z][.)](?=\s)|[ivxIVX]{1,5}[.)](?=\s))\s*"
)
_BADGE = re.compile(r":[a-z_]{2,30}:|[\u2600-\u27bf\u2b00-\u2bff\U0001f000-\U0001faff]")


def clean(text: str) -> str:
    """The words of an item; a text that is nothing but tails keeps its words without markup."""
    low = text.lower()
    if (
        not _CHARS.search(text)
        and not any(word in low for word in _TELLING)
        and not _MAYBE_REF.search(low, max(0, len(low) - 45))
    ):
        return " ".join(text.split()).strip(" \t\n-–—|•·")
    bare = _unmarked(text)
    if _CREDIT.match(bare):
        return _tidy(bare.replace(_GONE, " ")) if len(_HANDLE.sub(" ", bare).split()) > 5 else ""
    return _tidy(_untailed(bare))


def clean_heading(text: str) -> str:
    """A heading's title without numbering, markup, badges and a final colon."""
    words = _tidy(_unmarked(text).replace(_GONE, " "))
    words = _NUMBERING.sub("", _BADGE.sub("", words).strip(), count=1)
    return words.strip(" \t:#=*-–—_") or words


def unmarked(text: str) -> str:
    """The text without links, tags and emphasis, everything else as it is."""
    return _tidy(_unmarked(text).replace(_GONE, " "))


def _unmarked(text: str) -> str:
    text = unhide(text)
    if "<" in text:
        text = _TAG.sub("", _ANCHOR.sub(_linked, _COMMENT.sub("", text)))
    if "`_" in text:
        text = _RST_LINK.sub(_linked, text)
    if "[" in text:
        text = _ALERT.sub(r"\1: ", text, count=1)
        text = _TASK.sub("", text, count=1)
        text = _LINK.sub(_linked, _IMAGE.sub("", text))
    if "://" in text or "www." in text:
        text = _URL.sub(_GONE, text)
    if "&" in text:
        text = screen(html.unescape(text).replace("\r", " "))
    if "**" in text or "_" in text or "~~" in text or "*" in text:
        text = _EMPHASIS.sub(r"\1\2", _STRONG.sub("", text))
    if "`" in text:
        text = text.replace("`", "")
    return _BACKSLASH.sub(r"\1", text) if "\\" in text else text


def _linked(found: re.Match[str]) -> str:
    """A link's words, unless they only number an issue, a commit or a person."""
    words = found.group(1).strip()
    if not words or "://" in words or _PLAIN_REF.fullmatch(words.strip("`")):
        return _GONE
    return found.group(1)


def _group(found: re.Match[str]) -> str:
    inner = found.group(1)
    if not inner.strip(f" ,;{_GONE}"):
        return "" if _GONE in inner else found.group()
    if _REFS.fullmatch(inner) or _THANKS.fullmatch(inner.strip()):
        return ""
    return found.group()


def _untailed(text: str) -> str:
    """Cut what follows the statement, as often as something is found to cut."""
    text = _READ_MORE.sub("", _LEAD_REF.sub("", text, count=1), count=1)
    lowered = text.lower()
    if "-by" in lowered:
        text = _SIGNED.sub("", text, count=1)
    if _GONE in text:
        text = _MORE.sub(_GONE, text)
    if "(" in text or "[" in text:
        text = _GROUP.sub(_group, text)
    for _ in range(6):
        before = text
        text = text.rstrip(f" \t\n,;{_GONE}")
        if " by" in lowered and ("@" in text or _GONE in text):
            text = _BY.sub("", text)
        if any(word in lowered for word in _TELLING[1:6]) or "thx" in lowered:
            text = _cut_thanks(text)
        text = _cut_reference(text)
        if text == before:
            break
    return text.replace(_GONE, " ")


def _cut_reference(text: str) -> str:
    """Cut one reference at the end; only the end is looked at, so long texts cost no more."""
    split = max(0, len(text) - 120)
    tail = text[split:]
    cut = _TAIL_REF.search(tail) if _MAYBE_REF.search(tail.lower()) else None
    return text[:split] + tail[: cut.start()] if cut and cut.start() + split > 0 else text


def _cut_thanks(text: str) -> str:
    split = max(0, len(text) - 400)
    tail = text[split:]
    cut = _THANKS.search(tail)
    return text[:split] + tail[: cut.start()].rstrip() if cut and cut.start() + split > 0 else text


def _tidy(text: str) -> str:
    text = _EMPTY.sub("", " ".join(text.split()))
    text = text.replace(" .", ".").replace(" ,", ",") if " ." in text or " ," in text else text
    return text.strip(" \t\n-–—|•·,;")
