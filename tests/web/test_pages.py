"""The main job on the page, without a browser: every form works as a plain form."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest
from markupsafe import escape
from starlette.testclient import TestClient

from triage.advice.policy_scale import between
from triage.app.read import Engine
from triage.classify.corrections import corrections
from triage.journal.store import open_journal
from triage.reports import read_reports
from triage.update.guided import together
from triage.update.run_log import all_runs
from triage.web import documents
from triage.web.desk import Desk, PageChoice

from .conftest import DAY, Paste

STRICT = "?policy=conservative"  # waits; what the others say may change with the model
HOSTILE = """# Quillmere Heron 2: release notes

## Release 9.9.0 - 1 November 2026

- <script>alert('x')</script> Fixed the return to home.
- <img src=x onerror=alert(1)> Improved hovering </mark></div><form action=https://evil.example>
- The order of \u202edesrever\u202c letters \u2066is\u2069 kept.
- {{ 7 * 7 }} {% raw %} ${7*7} &lt;b&gt; fixed the gimbal.
"""


def test_paste_gives_the_recommendation(client: TestClient, paste: Paste, demo_notes: str) -> None:
    page = client.get(paste(demo_notes) + STRICT).text
    for words in (
        "WAIT AND WATCH: Quillmere Heron 2",
        "<h3>Why</h3>",
        "<h3>If you move</h3>",
        "<h3>If you stay</h3>",
        "<h3>Conditions</h3>",
        "<h3>What would change this</h3>",
        "<h3>Settings to recheck</h3>",
    ):
        assert words in page
    assert page.count("<svg") >= 5 * page.count("<h3>Why</h3>")


def test_a_file_is_read_like_a_paste(client: TestClient, demo_notes: str) -> None:
    sent = client.post("/notes", files={"file": ("notes.md", demo_notes.encode())})
    assert "WAIT AND WATCH" in client.get(sent.headers["location"] + STRICT).text


def test_nothing_pasted_is_said_in_a_line(client: TestClient) -> None:
    answer = client.post("/notes", files={"text": (None, "  ")})
    assert answer.status_code == 409 and "paste the release notes" in answer.text
    assert "Traceback" not in answer.text


def test_policy_turns_the_advice_and_the_slider_agrees(client: TestClient, paste: Paste) -> None:
    base = paste(
        "# Quillmere Heron 2: release notes\n\n## Release 3.7.0 - 15 November 2026\n\n"
        "- Return to home climbs in a curve.\n- Added a new photo mode with bracketing.\n"
    )

    def said(query: str) -> str:
        found = re.search(r'class="said"><strong>(.*?)</strong>', client.get(base + query).text)
        assert found
        return found[1]

    assert (
        said("?policy=conservative") == said("?policy=between&step=0") == "heron: wait and watch."
    )
    assert said("?policy=eager") == said("?policy=between&step=20") == "heron: update now."
    page = client.get(base).text
    turn = re.search(r"wait and watch from step 0 to (\d+); update now from step (\d+) to 20", page)
    assert turn
    assert said(f"?policy=between&step={turn[1]}") == "heron: wait and watch."
    assert said(f"?policy=between&step={turn[2]}") == "heron: update now."


def test_a_script_gets_only_the_part_that_changes(
    client: TestClient, paste: Paste, demo_notes: str
) -> None:
    part = client.get(paste(demo_notes), headers={"hx-request": "true"}).text
    assert part.lstrip().startswith('<div id="answer">') and "<html" not in part


def test_one_unit_only(client: TestClient, paste: Paste) -> None:
    """Notes that do not say what they are for are asked about for the unit named."""
    base = paste("Version 9.1\n- Fixed the gimbal drift.\n")
    assert "visor: " in client.get(f"{base}?unit=visor").text
    assert "no unit" in client.get(f"{base}?unit=submarine").text


def test_steps_worked_out_ahead_are_those_asked_for(
    client: TestClient, paste: Paste, demo_notes: str, machine: Engine
) -> None:
    desk = Desk(lambda: DAY, foresees=True)
    desk.__dict__["engine"] = machine
    key = desk.documents.add(demo_notes.encode(), "paste").key
    desk.foresee(desk.answer(key, PageChoice("balanced")))
    for thread in threading.enumerate():
        if thread.daemon and "work" in thread.name:
            thread.join(30)
    base = paste(demo_notes)
    assert base.endswith(key)
    for step in (0, 9, 20):
        found = desk.answer(key, PageChoice("between", step)).advice.units[0].assessment
        assert found.policy == between(step).name
        page = client.get(f"{base}?policy=between&step={step}").text
        assert str(escape(found.headline)) in page


def test_unknown_policy_or_notes_are_said_in_a_line(client: TestClient, paste: Paste) -> None:
    base = paste("Release 9.1\n- Fixed the gimbal.\n")
    assert "no policy" in client.get(f"{base}?policy=reckless").text
    assert client.get(f"{base}?policy=between&step=-4").status_code == 200
    gone = client.get("/notes/0123")
    assert gone.status_code == 409 and "paste them again" in gone.text


def test_each_item_is_marked_in_the_text(client: TestClient, paste: Paste, demo_notes: str) -> None:
    page = client.get(paste(demo_notes) + "/items").text
    items = set(re.findall(r'id="item-(\d+)"', page))
    marked = set(re.findall(r'<mark id="text-(\d+)"', page))
    assert len(items) >= 35 and marked == items
    text = re.search(r'<mark id="text-1">.*?</a> (.*?)</mark>', page, re.S)
    assert text and "Roof pattern: mark the corners of a roof" in text[1]


def test_a_correction_is_kept_and_weighs(client: TestClient, paste: Paste, demo_notes: str) -> None:
    base = paste(demo_notes)
    before = client.get(base + STRICT).text
    sent = client.post(f"{base}/items/1", data={"kind": ["fix", "compatibility"], "part": "1"})
    assert sent.status_code == 303 and sent.headers["location"].endswith("#item-1")
    assert [c.kinds for c in corrections()] == [("fix", "compatibility")]
    page = client.get(sent.headers["location"]).text
    assert "fix, compatibility</strong> (settled by you)" in page
    assert client.get(base + STRICT).text != before


def test_hostile_notes_are_text(client: TestClient, paste: Paste) -> None:
    base = paste(HOSTILE)
    for page in (client.get(base).text, client.get(base + "/items").text):
        assert "<script>alert" not in page and "<img src=x" not in page
        assert "<form action=https" not in page and "\u202e" not in page and "\u2066" not in page
        assert "49" not in re.findall(r"\b49\b fixed", page)
    items = client.get(base + "/items").text
    assert "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;" in items
    assert "[U+202E]desrever[U+202C]" in items
    paper = client.get(base + "/paper")
    assert "<script" not in paper.text and "<img src=x" not in paper.text


def test_a_huge_line_is_shown_in_part(client: TestClient, paste: Paste) -> None:
    page = client.get(paste("Release 9.1\n- Fixed the gimbal " + "very " * 100_000) + "/items").text
    assert len(page) < 2_000_000


def test_endless_notes_get_a_clear_answer(client: TestClient) -> None:
    for count, words in ((5_000, "5,000 items"), (400_000, "MB of text")):
        text = "Release 9.1\n" + "".join(f"- Fixed defect {n}.\n" for n in range(count))
        answer = client.post("/notes", files={"text": (None, text)})
        assert answer.status_code == 409 and words in answer.text
        assert "cut out the releases" in answer.text


def test_many_items_come_in_parts(client: TestClient, paste: Paste) -> None:
    base = paste("Release 9.1\n" + "".join(f"- Fixed defect {n}.\n" for n in range(250)))
    first, last = client.get(base + "/items").text, client.get(base + "/items?part=3").text
    assert first.count('class="item"') == 100 and last.count('class="item"') == 50
    assert 'id="item-250"' in last and "Fixed defect 249" in last
    assert client.get(base + "/items?part=99").text == last


def test_paper_carries_its_own_style_and_no_other(
    client: TestClient, paste: Paste, demo_notes: str
) -> None:
    answer = client.get(paste(demo_notes) + "/paper" + STRICT)
    policy = answer.headers["content-security-policy"]
    assert "'sha256-" in policy and "unsafe" not in policy and "WAIT AND WATCH" in answer.text


def test_a_report_is_added_and_counts(client: TestClient, paste: Paste, demo_notes: str) -> None:
    base = paste(demo_notes)

    def counted() -> float:
        found = re.search(r"([0-9.]+) clean users counted", client.get(base + STRICT).text)
        assert found
        return float(found[1])

    before, sum_before = len(read_reports().reports), counted()
    form = {"notes": base.split("/")[2], "release": "0", "seen": "clean", "users": "40"}
    form |= {"words": "Forty of us, no trouble.", "where": "club", "query": STRICT}
    sent = client.post("/reports", data=form)
    assert sent.headers["location"] == f"{base}{STRICT}#reports"
    assert len(read_reports().reports) == before + 1 and read_reports().reports[-1].unit
    assert "Forty of us" in client.get("/reports").text
    assert counted() == sum_before + 40 * 0.5  # the weight of a clean report there


def test_a_report_that_does_not_hold_is_refused(client: TestClient) -> None:
    for form in (
        {"version": "1.0"},
        {"version": "1.0", "seen": "clean", "users": "many"},
        {"version": "1.0", "seen": "clean", "day": "2030-01-01"},
        {"version": "1.0", "seen": "clean", "function": "levitation"},
    ):
        assert client.post("/reports", data=form).status_code == 409


def test_journal_keeps_finds_and_reminds(client: TestClient, paste: Paste, demo_notes: str) -> None:
    base = paste(demo_notes)
    refused = client.post(f"{base}/decision{STRICT}", data={"decision": "update"})
    assert refused.status_code == 409 and "reason" in refused.text
    form = {"decision": "follow", "reason": "Frost ahead <b>", "review": "2026-12-01"}
    kept = client.post(f"{base}/decision{STRICT}", data=form)
    assert kept.headers["location"] == "/journal/1"
    entry = open_journal().entry(1).record.payload
    assert entry.kind == "decision" and entry.policy.name == "conservative"
    listed = client.get("/journal?q=frost").text
    assert "Entry 1" in listed and "2026-12-01" in listed and "in 6 days" in listed
    assert "None." in client.get("/journal?q=volcano").text
    assert "Frost ahead &lt;b&gt;" in client.get("/journal/1").text
    went = {"result": "went-well", "flights": "12", "words": "Quiet week"}
    assert client.post("/journal/1/outcome", data=went).status_code == 303
    looked = {"words": "Nothing new", "review": "2026-12-20"}
    assert client.post("/journal/1/review", data=looked).status_code == 303
    page = client.get("/journal/1").text
    assert "Quiet week" in page and "Nothing new" in page


def test_an_empty_journal_is_no_fault(client: TestClient) -> None:
    assert "No decision is kept yet" in client.get("/journal").text


def test_a_run_led_one_step_a_screen(client: TestClient, paste: Paste, demo_notes: str) -> None:
    base = paste(demo_notes)
    client.post(f"{base}/run{STRICT}", data={"unit": "heron", "anyway": "yes"})
    first = client.get("/runs/1/go").text
    assert first.count("<h2>") == 1 and "Read the notes" in first
    client.post("/runs/1/go", data={"act": "done"})
    assert "Read the notes" not in client.get("/runs/1/go").text
    client.post("/runs/1/go", data={"act": "undo"})
    assert "Read the notes" in client.get("/runs/1/go").text
    settings = {"settings": (None, "Return-to-home altitude: 60 m\n")}
    batteries = 0
    for _ in range(60):
        ahead = together(all_runs()[0])
        if not ahead:
            break
        if ahead[0].step.needs in ("snapshot-before", "snapshot-after"):
            client.post(f"/runs/1/steps/{ahead[0].number}/settings", files=settings)
        form = {"act": "done", "charge": "90", "value": "60 m", "accept": "yes"}
        form |= {f"version-{s.number}": s.step.target or "9.9.9" for s in ahead}
        if len(ahead) > 1:
            batteries = len(ahead)
            assert client.get("/runs/1/go").text.count("empty stays owed") == batteries
        assert client.post("/runs/1/go", data=form).status_code == 303
    assert batteries > 1 and not all_runs()[0].left
    assert "Nothing is left to do" in client.get("/runs/1/go").text


def test_an_update_run_from_begin_to_end(client: TestClient, paste: Paste, demo_notes: str) -> None:
    base = paste(demo_notes)
    refused = client.post(f"{base}/run{STRICT}", data={"unit": "heron"})
    assert refused.status_code == 409 and "wait" in refused.text
    begun = client.post(f"{base}/run{STRICT}", data={"unit": "heron", "anyway": "yes"})
    assert begun.headers["location"] == "/runs/1"
    page = client.get("/runs/1").text
    assert "Begun against the advice" in page
    assert page.count('class="step open"') > 5
    assert "'sha256-" in client.get("/runs/1/paper").headers["content-security-policy"]
    charge = next(s for s in all_runs()[0].steps if s.step.needs == "charge")
    low = client.post(f"/runs/1/steps/{charge.number}", data={"act": "done", "charge": "20"})
    assert low.status_code == 409
    before = next(s for s in all_runs()[0].steps if s.step.needs == "snapshot-before")
    settings = "Return-to-home altitude: 60 m\nMax altitude: 110 m\n"
    for step in all_runs()[0].steps:
        if step.step.needs in ("snapshot-before", "snapshot-after"):
            sent = {"settings": (None, settings)}
            client.post(f"/runs/1/steps/{step.number}/settings", files=sent)
        form = {"act": "done", "charge": "90", "version": step.step.target or "9.9.9"}
        form |= {"note": "seen", "value": "60 m", "accept": "yes"}
        answer = client.post(f"/runs/1/steps/{step.number}", data=form)
        assert answer.status_code == 303, answer.text
    assert before.step.unit in client.get("/runs/1").text
    closed = client.post("/runs/1/close", data={"act": "finish"})
    assert closed.status_code == 303
    assert "closed" in client.get("/runs").text
    assert all_runs()[0].phase == "closed"
    assert open_journal().newest(limit=1)[0].record.payload.kind == "update"
    assert "Quillmere Heron 2 3.6.0" in client.get("/journal").text


def test_two_tabs_lose_nothing(client: TestClient, paste: Paste, demo_notes: str) -> None:
    """Reports, corrections and marks sent at the same time are all kept."""
    base, other = paste(demo_notes), paste("Release 9.1\n- Fixed the gimbal.\n")
    before = len(read_reports().reports)

    def tab(n: int) -> None:
        form = {"version": f"9.{n}", "seen": "clean", "users": "1", "words": f"tab {n}"}
        assert client.post("/reports", data=form).status_code == 303
        address = f"{base}/items/{n + 1}"
        assert client.post(address, data={"kind": "fix", "part": "1"}).status_code == 303
        assert client.get(other if n % 2 else base).status_code == 200

    tabs = [threading.Thread(target=tab, args=(n,)) for n in range(8)]
    for one in tabs:
        one.start()
    for one in tabs:
        one.join()
    assert len(read_reports().reports) == before + 8 and len(corrections()) == 8
    assert "gimbal" in client.get(other + "/items").text


def test_memory_is_bounded(client: TestClient, paste: Paste) -> None:
    first = paste("Release 9.1\n- Fixed the gimbal.\n")
    for n in range(documents.MOST):
        paste(f"Release 8.{n}\n- Fixed the camera.\n")
    assert client.get(first).status_code == 409


def test_the_demo_records_nothing(client: TestClient, home: Path) -> None:
    before = {f.name: f.stat().st_size for f in home.iterdir()}
    base = client.post("/demo").headers["location"].split("?")[0]
    assert client.post(f"{base}/decision", data={"decision": "follow"}).status_code == 409
    assert client.post(f"{base}/run", data={"anyway": "yes"}).status_code == 409
    assert {f.name: f.stat().st_size for f in home.iterdir()} == before


def test_a_fault_of_the_program_shows_no_insides(
    client: TestClient, paste: Paste, monkeypatch: pytest.MonkeyPatch
) -> None:
    base = paste("Release 9.1\n- Fixed the gimbal.\n")
    monkeypatch.setattr("triage.web.notes.document_view", lambda *_: 1 / 0)
    answer = client.get(base)
    assert answer.status_code == 500 and "ZeroDivision" not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]
