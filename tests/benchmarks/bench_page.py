"""Milliseconds of the page for a document of 100 items: from the paste to the moved slider.

Run: python tests/benchmarks/bench_page.py. Prints figures and asserts nothing. First paint is
measured in Chromium with `--browser`.
"""

from __future__ import annotations

import datetime as dt
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from starlette.testclient import TestClient  # noqa: E402

from triage.reference.shipped import folder  # noqa: E402
from triage.web.app import make_app  # noqa: E402
from triage.web.desk import Desk  # noqa: E402

ITEMS, PORT, DAY = 100, 8765, dt.date(2026, 11, 25)
TIMES = 15


def notes() -> str:
    """The demo's items, taken up again under earlier releases until there are 100."""
    demo = (folder("corpora") / "demo" / "heron-2-release-notes.md").read_text(encoding="utf-8")
    lines = [line for line in demo.splitlines() if line.startswith("- ")]
    text, count = "# Quillmere Heron 2: release notes\n", 0
    for release in range(5):
        text += f"\n## Release 3.{9 - release}.0 - {20 - 4 * release} November 2026\n\n"
        for n in range(ITEMS // 5):
            text += f"{lines[count % len(lines)]} (part {n + 1} of release {release + 1})\n"
            count += 1
    return text


def timed(work: Callable[[int], object], times: int = TIMES) -> tuple[float, float, float]:
    """The first, the median of the others, and the processor time of one, in ms."""
    taken, busy = [], time.process_time()
    for n in range(times):
        start = time.perf_counter()
        work(n)
        taken.append(1000 * (time.perf_counter() - start))
    busy = (time.process_time() - busy) / times
    return taken[0], statistics.median(taken[1:]), 1000 * busy


def in_browser(link: str) -> None:
    """First paint of the answer and of a moved slider, as Chromium tells them."""
    from playwright.sync_api import sync_playwright

    from tests.web.browsing import CHROMIUM, FLAGS

    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        page = browser.new_page()
        page.goto(link)
        page.get_by_label("Release notes, pasted as they are").fill(notes())
        page.get_by_role("button", name="Read the notes").click()
        page.wait_for_url("**/notes/*")
        paints, moved = [], []
        for _ in range(6):
            page.reload()
            page.wait_for_timeout(200)
            paint = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
            paints.append(float(page.evaluate(paint)))
        page.evaluate(
            "document.body.addEventListener('htmx:beforeRequest', () => window.began = "
            "performance.now());"
            "document.body.addEventListener('htmx:afterSettle', () => requestAnimationFrame("
            "() => window.took = performance.now() - window.began))"
        )
        page.get_by_label("How strict").focus()
        for key in ("Home", *["ArrowRight"] * 8):
            page.keyboard.press(key)
            page.wait_for_timeout(600)
            moved.append(float(page.evaluate("window.took")))
        browser.close()
    print(f"  in Chromium: first paint {statistics.median(paints):.0f} ms after the request;")
    print(f"  moved slider, from request to settled: {statistics.median(moved):.0f} ms")


def served() -> None:
    """Serve the page as a user would, and look at it."""
    start = "from triage.cli.main import main; main()"
    arguments = [sys.executable, "-c", start, "page", "--no-browser"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stdout is not None
        try:
            process.stdout.readline()
            in_browser(process.stdout.readline().strip())
        finally:
            process.terminate()


def main() -> None:
    """Measure each act of the page."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["TRIAGE_HOME"] = home
        kit = folder("corpora") / "demo" / "kit.toml"
        (Path(home) / "kit.toml").write_bytes(kit.read_bytes())
        reports = folder("corpora") / "demo" / "reports.jsonl"
        (Path(home) / "reports.jsonl").write_bytes(reports.read_bytes())
        address = f"http://127.0.0.1:{PORT}"
        desk = Desk(lambda: DAY)
        client = TestClient(
            make_app(desk, PORT, "token"), base_url=address, headers={"origin": address}
        )
        start = time.perf_counter()
        assert desk.engine
        print(f"model and recogniser loaded: {1000 * (time.perf_counter() - start):.0f} ms, once")
        client.get("/enter?token=token")

        def paste(n: int) -> str:
            answer = client.post(
                "/notes", files={"text": (None, notes() + f"\n- Change number {n}.\n")}
            )
            assert answer.status_code == 200, answer.text
            return str(answer.url.path)

        base = paste(-1)
        count = len(desk.documents.get(base.split("/")[2]).judged.items)
        script = {"hx-request": "true"}

        def slide(n: int) -> None:
            address = f"{base}?policy=between&step={n}"
            assert client.get(address, headers=script).status_code == 200

        rows = {
            "paste to answer": timed(lambda n: paste(n), 6),
            "slider to a step not seen": timed(slide),
            "slider back to a step seen": timed(lambda n: slide(3)),
            "items beside the text": timed(lambda n: client.get(f"{base}/items")),
            "for paper": timed(lambda n: client.get(f"{base}/paper")),
        }
        print(f"{count} items, kit of 11 units; ms: first, median, processor time")
        for name, (first, usual, busy) in rows.items():
            print(f"  {name:28} {first:7.1f} {usual:7.1f} {busy:7.1f}")
        _, usual, busy = rows[_SLIDE]
        print(f"  aim for the slider 100 ms: takes {usual / 100:.2f}, {busy / 100:.2f} of work")
        if "--browser" in sys.argv:
            served()


_SLIDE = "slider to a step not seen"

if __name__ == "__main__":
    main()
