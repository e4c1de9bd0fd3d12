"""Who is let in and what a page may load.

The headers are checked by what the standards say of them: RFC 6265bis (SameSite, HttpOnly),
CSP Level 3, the Fetch standard's Origin and Sec-Fetch-Site (from memory).
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from triage.web.guard import BODY_LIMIT

from .conftest import ADDRESS, PACKAGE, PORT, START, TOKEN

WEB = Path(__file__).resolve().parents[2] / "triage" / "web"


def test_nobody_without_the_link(outside: TestClient) -> None:
    for path in ("/", "/journal", "/runs", "/static/page.css"):
        assert outside.get(path).status_code == 403
    assert outside.post("/demo").status_code == 403


def test_wrong_token_lets_nobody_in(outside: TestClient) -> None:
    for token in ("", "wrong", TOKEN[:-1], "\u00e9"):
        assert outside.get("/enter", params={"token": token}).status_code == 403
    assert outside.get("/").status_code == 403


def test_cookie_is_kept_from_scripts_and_other_sites(outside: TestClient) -> None:
    cookie = outside.get(f"/enter?token={TOKEN}").headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie and TOKEN not in cookie


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1:1", "127.0.0.1"]
)
def test_other_hosts_are_refused(client: TestClient, host: str) -> None:
    """A name that another site points at 127.0.0.1 (DNS rebinding) reaches nothing."""
    assert client.get("/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1:1"])
def test_a_form_of_another_site_changes_nothing(client: TestClient, origin: str) -> None:
    answer = client.post("/demo", headers={"origin": origin})
    assert answer.status_code == 403 and "nothing was changed" in answer.text


def test_a_form_without_an_origin_changes_nothing(client: TestClient) -> None:
    del client.headers["origin"]
    assert client.post("/demo").status_code == 403
    assert client.get("/").status_code == 200


def test_another_site_cannot_show_a_page_or_send_its_forms(client: TestClient) -> None:
    assert client.get("/", headers={"sec-fetch-site": "cross-site"}).status_code == 403
    assert client.post("/demo", headers={"sec-fetch-site": "same-site"}).status_code == 403


def test_every_answer_carries_the_headers(client: TestClient) -> None:
    for path in ("/", "/reports", "/journal", "/runs", "/nowhere", "/static/page.css"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy and "http" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert "no-store" in headers["cache-control"]


def test_more_than_fifty_megabytes_get_a_clear_answer(client: TestClient) -> None:
    long = "- Fixed a defect of the gimbal.\n" * (BODY_LIMIT // 32 + 1)
    answer = client.post("/notes", files={"text": (None, long)})
    assert answer.status_code == 413 and "50 MB" in answer.text
    assert client.get("/").status_code == 200


def test_a_body_of_unstated_length_is_counted(client: TestClient) -> None:
    """Chunked bodies state no length (RFC 9112, section 7.1)."""

    def chunks() -> object:
        yield b'--x\r\nContent-Disposition: form-data; name="text"\r\n\r\n'
        for _ in range(51):
            yield b"x" * 1024 * 1024

    form = {"content-type": "multipart/form-data; boundary=x"}
    body: Any = chunks()
    answer = client.post("/notes", content=body, headers=form)
    assert answer.status_code == 413 and "50 MB" in answer.text, answer.text


def test_nothing_is_fetched_from_elsewhere() -> None:
    """No template or style names another address; styles and scripts are files of the page."""
    for file in [*WEB.glob("templates/*.html"), *WEB.glob("static/*.css")]:
        text = file.read_text(encoding="utf-8")
        assert "http:" not in text and "https:" not in text and '"//' not in text, file
        assert "style=" not in text and "<style" not in text and "onclick" not in text, file
    scripts = [line for f in WEB.glob("templates/*.html") for line in f.open() if "<script" in line]
    assert scripts == [s for s in scripts if 'src="/static/htmx-' in s]


def test_the_command_listens_on_loopback_only_and_stops_quietly(home: Path) -> None:
    """Sockets as the system lists them in /proc/net/tcp: 0100007F is 127.0.0.1."""
    with subprocess.Popen(
        [sys.executable, "-c", START, "page", "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(PACKAGE.parent)},
    ) as served:
        assert served.stdout is not None
        served.stdout.readline()
        link = served.stdout.readline().strip()
        port = int(link.split(":")[2].split("/")[0])
        if Path("/proc/net/tcp").exists():
            rows = [line.split()[1:4] for line in Path("/proc/net/tcp").read_text().splitlines()]
            listening = [
                own for own, _, state in rows if state == "0A" and own.endswith(f":{port:04X}")
            ]
            assert listening == [f"0100007F:{port:04X}"]
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(link.split("/enter")[0] + "/", timeout=20)
        served.send_signal(signal.SIGINT)
        said, complained = served.communicate(timeout=20)
    assert served.returncode == 0 and "closed" in said and "Traceback" not in complained


def test_address_is_the_machines_own(client: TestClient) -> None:
    from triage.web import serve

    assert serve.ADDRESS == "127.0.0.1" and ADDRESS.startswith("http://127.0.0.1:")
