from __future__ import annotations

import io
from pathlib import Path

import pytest
from typer.testing import CliRunner

from triage.cli.settings import app
from triage.errors import TriageError
from triage.reference.shipped import folder
from triage.settings.setting_tables import fields
from triage.settings.snapshots import all_kept

DEMO = folder("corpora") / "demo"
KIT = '[[unit]]\nlabel = "heron"\ncomponent = "aircraft"\nversion = "3.4.2"\n'
KIT += '[[unit]]\nlabel = "visor"\ncomponent = "goggles"\n'


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    (tmp_path / "kit.toml").write_text(KIT)
    return tmp_path


def run(*words: str, input: str = "") -> str:
    result = CliRunner().invoke(app, list(words), input=input, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: str, input: str = "") -> str:
    with pytest.raises(TriageError) as error:
        run(*words, input=input)
    assert "\n" not in str(error.value)
    return str(error.value)


def test_before_and_after_of_the_demo(home: Path) -> None:
    assert "24 settings of heron" in run("record", "Heron", str(DEMO / "settings-before.txt"))
    assert "24 settings of heron" in run("record", "heron", str(DEMO / "settings-after.txt"))
    out = run("compare", "heron", "--confirm", input="y\n")
    assert "1 changed, 1 gone, 1 new, 22 the same; 1 to confirm" in out
    assert "Is 'Obstacle response' what 'Obstacle action' was? [y/n]" in out
    again = run("compare", "1", "2")
    assert "to confirm" not in again.casefold()
    rows = [line for line in again.splitlines() if "60 m" in line]
    assert "30 m" in rows[0] and "changed" in rows[0]
    listed = run("list")
    assert listed.count("3.4.2") == 2 and "file" in listed
    assert "Return-to-home altitude 60 m" in " ".join(run("show", "1").split())


def test_pasted_through_a_pipe() -> None:
    run("record", "heron", input="RTH altitude: 60 m\nExpo 0.3\n")
    assert [e.name for e in all_kept("heron")[0].snapshot.entries] == ["RTH altitude", "Expo"]
    assert all_kept()[0].snapshot.origin == "pasted"


def test_typed_at_prompts_of_the_vocabulary() -> None:
    answers = ["60", "60 m"] + [""] * (len(fields()) - 2) + ["m", ".", "Payload hook: Open", ""]
    out = run("record", "heron", "--ask", input="\n".join(answers) + "\n")
    assert "return-to-home altitude in m or ft:" in out
    assert "'60' has no unit; is it 60 m or ft?" in out
    assert "2 settings" in out or "3 settings" in out
    second = run("record", "heron", "--ask", input="=\n.\n\n")
    assert "return-to-home altitude in m or ft (last: 60 m):" in second
    assert all_kept()[1].snapshot.entries[0].value.text == "60 m"


def test_flagged_when_recorded() -> None:
    out = run("record", "heron", input="Max altitude: 500 ft\n")
    assert "above 400 ft: check your local rules; 14 CFR 107.51" in out
    assert "UAS.OPEN.010" in out


def test_feet_where_metres_were_is_asked_and_not_recorded_in_silence() -> None:
    run("record", "heron", input="RTH altitude: 60 m\n")
    words = refused("record", "heron", input="RTH altitude: 60 ft\n")
    assert "60 ft where 60 m was: is the unit right?" in words
    assert len(all_kept()) == 1
    run("record", "heron", "--yes", input="RTH altitude: 60 ft\n")
    assert all_kept()[1].snapshot.entries[0].value.unit == "ft"


def test_answered_questions_survive_the_end_of_the_input(home: Path) -> None:
    source = home / "s.txt"
    source.write_text("Expo: 0.3\nRTH altitude: 60\nMax distance: 400\n")
    words = refused("record", "heron", str(source), "--ask", input="60 m\n")
    assert "what you answered is kept" in words
    out = run("record", "heron", "--ask", input="y\n.\n\n")
    assert "2 values of heron were typed but not kept; go on from them? [y/n]" in out
    assert {e.name for e in all_kept()[0].snapshot.entries} == {"Expo", "RTH altitude"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("RTH altitude: 60000 m", "cannot be"),
        ("RTH altitude: 60", "no unit; is it 60 m or ft?"),
        ("Low battery warning: 130 %", "more than 100 %"),
        ("the quick brown 7 foxes jump over\na: 1", "no name with a value"),
        ("", "holds no settings"),
    ],
)
def test_bad_input_is_one_line_and_nothing_is_recorded(text: str, words: str) -> None:
    assert words in refused("record", "heron", "-", input=text)
    assert not all_kept()


def test_wrong_units_of_the_kit() -> None:
    assert "it holds heron, visor" in refused("record", "vizor", input="a: 1\n")
    run("record", "heron", input="a: 1\n")
    run("record", "visor", input="a: 1\n")
    assert "one snapshot is of heron, the other of visor" in refused("compare", "1", "2")
    assert "one snapshot of 'visor', not two" in refused("compare", "visor")
    assert "are no snapshots of 'bird'" in refused("compare", "bird")
    assert "there is no snapshot 7" in refused("compare", "1", "7")
    assert "is no number" in refused("compare", "1", "x")


def test_settings_of_another_unit_are_held_up() -> None:
    run("record", "heron", input="a: 1\nb: 2\nc: 3\nd: 4\n")
    words = refused("record", "heron", input="e: 1\nf: 2\ng: 3\nh: 4\n")
    assert "are they really of heron?" in words
    assert len(all_kept()) == 1


def test_no_kit_yet(home: Path) -> None:
    (home / "kit.toml").unlink()
    assert "triage kit add" in refused("record", "heron", input="a: 1\n")


def test_a_picture_is_never_taken_unconfirmed(home: Path) -> None:
    pytest.importorskip("rapidocr", reason="the extra `screenshots` is not installed")
    image, draw, font = (
        pytest.importorskip(f"PIL.{n}") for n in ("Image", "ImageDraw", "ImageFont")
    )
    made = image.new("RGB", (900, 120), "white")
    written = draw.Draw(made)
    written.text((40, 40), "Return-to-home altitude", fill="black", font=font.load_default(28))
    written.text((650, 40), "60 m", fill="black", font=font.load_default(28))
    out = io.BytesIO()
    made.save(out, "PNG")
    (home / "s.png").write_bytes(out.getvalue())
    words = refused("record", "heron", str(home / "s.png"), "--yes")
    assert "is it set to 60 m?" in words and "answer at a terminal" in words
    run("record", "heron", str(home / "s.png"), "--ask", input="y\n")
    kept = all_kept()[0].snapshot
    assert kept.pictures[0].name == "s.png"
    assert kept.entries[0].field == "rth-altitude"
    assert "SHA-256" in run("show", "1")


def test_lists_when_there_is_nothing() -> None:
    assert "No snapshots yet" in run("list")
    assert "return-to-home altitude (m, ft)" in run("list", "--fields")


def test_what_was_read_is_shown_line_by_line_with_what_was_passed_over() -> None:
    out = run("record", "heron", input="SAFETY\nRTH altitude: 60 m\nExpo 0.3\n")
    rows = [" ".join(line.split()) for line in out.splitlines()]
    assert "1 2 RTH altitude 60 m" in rows and "2 3 Expo 0.3" in rows
    assert "Taken for headings or commands, no settings" in out and "SAFETY  [line 1]" in out


def test_a_snapshot_is_corrected_and_listed() -> None:
    run("record", "heron", input="RTH altitude: 60 m\nExpo: 0.3\nPayload hook: Open\n")
    assert "needs a reason" in refused("correct", "1", "Expo=0.4")
    words = ("RTH altitude=70 m", "--drop", "payload hook", "--reason", "misread")
    out = " ".join(run("correct", "1", *words).split())
    assert "RTH altitude 70 m" in out and "! misread" in out
    assert "pasted, corrected" in run("list")
    assert [e.name for e in all_kept()[0].snapshot.entries] == ["RTH altitude", "Expo"]
    assert len(all_kept()) == 1
    run("record", "heron", input="RTH altitude: 70 m\nExpo: 0.3\n")
    assert [k.number for k in all_kept()] == [1, 3]
    assert "holds no 'hook'" in refused("correct", "1", "--drop", "hook", "--reason", "x")
    assert "is no unit known" in refused("correct", "1", "RTH altitude=6 parsec", "--reason", "x")
    assert "there is no snapshot 2" in refused("show", "2")


def test_what_a_release_does_to_your_settings(home: Path) -> None:
    notes = home / "notes.md"
    notes.write_text(
        "# Heron 2\n\n## Release 3.6.0\n\n- Return to home climbs first.\n\n### Notes\n"
        "- The return-to-home altitude may be reset to 30 m by this update.\n"
    )
    first = " ".join(run("changes", "heron", str(notes)).split())
    assert "write down before updating, in this order: return-to-home altitude" in first
    run("record", "heron", input="RTH altitude: 60 m\n")
    rows = " ".join(run("changes", "heron", str(notes)).split())
    said = "RTH altitude: yours 60 m; the notes: reset to 30 m"
    assert said in rows and "expect 30 m; set again to 60 m." in rows
