"""Items without markup and tails; what only looks like a tail stays."""

import pytest

from triage.notes.clean import clean, clean_heading

SAME = [
    "Relay on main pins fixed (see RELAY_OPTIONS)",
    "Fixes PWM in mode #2 of the menu",
    "Reverts commit abc1234 of last week",
    "Uses smaller read/write sizes to keep radios happier",
    "Landing by hand is smoother",
    "Set INSn_ACC_Z to 5 * 3",
    "Thanks to the new filter the hover is steadier",
]
CUT = [
    ("Add braking ([#15](https://x.y/15)) ([44a163a](https://x.y/44a163a))", "Add braking"),
    ("Fix drift by @someone in https://x.y/pull/12", "Fix drift"),
    ("Fix drift (#377).", "Fix drift."),
    ("Four profiles - thanks @someone", "Four profiles"),
    ("Better filter (thanks to Ada L.)", "Better filter"),
    ("Fix spelling Signed-off-by: A B <a@b.c>", "Fix spelling"),
    ("[QB-76] - Flashing stops at 99 %", "Flashing stops at 99 %"),
    (
        "Smooth. For more info see [PR1](https://x.y/1) and [PR2](https://x.y/2) - thanks @a.",
        "Smooth.",
    ),
    ("See <a href=http://x.y>this page</a> for details", "See this page for details"),
    ("Fixed **bold** and `code` and _emphasis_", "Fixed bold and code and emphasis"),
    ("Fixed &lt;tag&gt; &amp; more", "Fixed <tag> & more"),
    ("- [x] Done", "[x] Done"),
    ("![image](https://x.y/a.png)", ""),
    ("thanks to @a, @b", ""),
    ("Various small bug-fixes: #2994, #3016", "Various small bug-fixes"),
    ("soft\u00adhyphen and zero\u200bwidth", "softhyphen and zerowidth"),
]


@pytest.mark.parametrize("text", SAME)
def test_statements_keep_their_words(text: str) -> None:
    assert clean(text) == text


@pytest.mark.parametrize(("text", "words"), CUT)
def test_tails_and_markup_go(text: str, words: str) -> None:
    assert clean(text) == words


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("1) Board specific changes", "Board specific changes"),
        ("2.3 Stick curves:", "Stick curves"),
        ("⚠ BREAKING CHANGES", "BREAKING CHANGES"),
        ("**Bug fixes:**", "Bug fixes"),
        ("## 3D maps", "3D maps"),
    ],
)
def test_headings_lose_numbering_and_markup(text: str, title: str) -> None:
    assert clean_heading(text) == title
