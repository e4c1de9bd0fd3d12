"""A whole page that carries its own style, let through by the digest of that style."""

from __future__ import annotations

import base64
import hashlib
import re

from starlette.responses import HTMLResponse

from triage.web.guard import POLICY

_STYLE = re.compile(r"<style>(.*?)</style>", re.S)


def with_own_style(text: str) -> HTMLResponse:
    """The response; every other style, and every script, stays forbidden."""
    digests = [
        base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
        for style in _STYLE.findall(text)[:1]  # the first is the page's; notes cannot add one
    ]
    allowed = " ".join(f"'sha256-{digest}'" for digest in digests)
    policy = POLICY.replace(
        "style-src 'self'", f"style-src {allowed or chr(39) + 'none' + chr(39)}"
    )
    return HTMLResponse(text, headers={"content-security-policy": policy})
