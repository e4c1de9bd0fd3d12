"""How the notes of a story are ordered: functions from a story to lines of marked text."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from triage.training.markups import Html, Markdown, mark
from triage.training.pen import Pen
from triage.training.stories import Release, Statement, Story, is_effect_row, words

_HISTORY = ("version history", "firmware archive", "downloads", "releases")
_AROUND = ("instructions", "requirements", "known", "availability", "background")


def _sections(
    pen: Pen, release: Release, headings: dict[str, tuple[str, ...]]
) -> Iterator[tuple[str, list[Statement]]]:
    """What a release's notes say, in an order, under headings ('' for none)."""
    rng, groups = pen.rng, release.groups
    if "notices" in groups:
        yield _heading(rng, groups["notices"], headings["notices"]), list(groups["notices"])
    around = [name for name in _AROUND if name in groups]
    before = [name for name in around if rng.random() < 0.25]
    for name in before:
        yield _heading(rng, groups[name], headings[name]), list(groups[name])
    yield from _changes(pen, release, headings)
    for name in around:
        if name not in before:
            yield _heading(rng, groups[name], headings[name]), list(groups[name])


def _changes(
    pen: Pen, release: Release, headings: dict[str, tuple[str, ...]]
) -> Iterator[tuple[str, list[Statement]]]:
    """The changes: by their own headings, by kind, or all in one."""
    rng = pen.rng
    effects = list(release.groups.get("effects", ()))
    mixed = effects if rng.random() < 0.6 else []
    manner = rng.random()
    if manner < 0.4:
        for heading, some in groupby(release.changes, lambda one: one.heading):
            yield heading or rng.choice(headings["changes"]), list(some)
        if mixed:
            yield rng.choice(headings["effects"]), mixed
    elif manner < 0.7:
        every = [*release.changes, *mixed]
        yield from _by_kind(rng, every)
    else:
        every = [*release.changes, *mixed]
        rng.shuffle(every)
        yield rng.choice((*headings["changes"], "")), every
    if effects and not mixed:
        yield rng.choice(headings["effects"]), effects


def _by_kind(
    rng: random.Random, every: Sequence[Statement]
) -> Iterator[tuple[str, list[Statement]]]:
    labels = words().labels
    fixes = [one for one in every if "X" in one.tag.split(";")[0]]
    new = [one for one in every if one not in fixes and "F" in one.tag.split(";")[0]]
    rest = [one for one in every if one not in fixes and one not in new]
    for name, own in (("feature", new), ("other", rest), ("fix", fixes)):
        if own:
            yield rng.choice(labels[name]), own


def _heading(rng: random.Random, own: Sequence[Statement], usual: Sequence[str]) -> str:
    """The heading that one of the statements was written under, or a usual one."""
    written = [one.heading for one in own if one.heading]
    return rng.choice(written) if written and rng.random() < 0.5 else rng.choice(usual)


def _top(pen: Pen, release: Release, level: int) -> list[str]:
    """Title, day and units of a release."""
    title, day = pen.title(release)
    lines = pen.m.heading(level, title)
    if day:
        lines += pen.m.paragraph(day)
    if len(release.units) > 1:
        lines += _unit_list(pen, release)
    return lines


def _unit_list(pen: Pen, release: Release) -> list[str]:
    if pen.rng.random() < 0.5:
        return pen.m.entries([pen.unit(release, unit) for unit in release.units])
    rows = []
    for unit in release.units:
        pen.printed(release, unit)
        rows.append(
            [
                mark(f"v {release.number}", pen.m.words(unit.name)),
                mark(f"v {release.number}", pen.m.words(unit.version)),
            ]
        )
    head = [pen.rng.choice(words().columns[name]) for name in ("component", "version")]
    return pen.m.table([pen.head(one) for one in head] if pen.style < 0.7 else [], rows)


def lists(story: Story, pen: Pen, level: int = 1) -> list[str]:
    """A heading and a list for each group."""
    lines: list[str] = []
    for release in story.releases:
        lines += _top(pen, release, level)
        for heading, own in _sections(pen, release, words().headings):
            if heading:
                lines += pen.m.heading(level + 1, pen.head(heading))
            lines += pen.m.entries(_entries(pen, own, release))
        lines += _remarks(pen, story) if release.number == 1 else []
        lines.append("")
    return lines


def bare_lists(story: Story, pen: Pen) -> list[str]:
    """One list a release, without headings."""
    lines: list[str] = []
    for release in story.releases:
        lines += _top(pen, release, 2)
        every = [one for _, own in _sections(pen, release, words().headings) for one in own]
        lines += pen.m.entries(_entries(pen, every, release))
    return lines


def _entries(pen: Pen, own: Sequence[Statement], release: Release) -> list[str]:
    """The entries of a list; now and then two statements share one."""
    entries: list[str] = []
    left = list(own)
    reasons = list(release.groups.get("background", ())) if pen.style < 0.5 else []
    while left:
        one = left.pop(0)
        follower = left[0] if left else None
        if follower and _short(one) and _short(follower) and pen.rng.random() < 0.2:
            left.pop(0)
            joint = pen.rng.choice((", and ", "; ", " and ", ", ", " / "))
            begin = follower.text[:2]
            text = (
                follower.text[:1].lower() + follower.text[1:] if begin.istitle() else follower.text
            )
            entries.append(pen.say(one) + joint + pen.say(follower._replace(text=text)))
        elif one.role == "c" and reasons and pen.rng.random() < 0.3:
            entries.append(f"{_sentence(pen, one)} {pen.say(reasons.pop())}")
        else:
            entries.append(pen.say(one))
    return entries


def _short(one: Statement) -> bool:
    return one.role == "c" and len(one.text) < 70 and one.text[-1] not in ".!?:;"


def prose(story: Story, pen: Pen) -> list[str]:
    """Sentences in paragraphs."""
    lines: list[str] = []
    remarks = list(story.remarks[1:])
    for release in story.releases:
        lines += _top(pen, release, 1)
        for heading, own in _sections(pen, release, words().headings):
            if heading and pen.rng.random() < 0.3:
                lines += pen.m.heading(2, pen.head(heading))
            sentences = [_sentence(pen, one) for one in own]
            if remarks and pen.rng.random() < 0.3:
                sentences.append(_sentence(pen, remarks.pop()))
            lines += pen.m.paragraph(" ".join(sentences))
    return lines


def _sentence(pen: Pen, one: Statement) -> str:
    stop = "" if one.text[-1] in ".!?:;)" else "."
    return pen.say(one) + stop


def semicolons(story: Story, pen: Pen) -> list[str]:
    """Key and value lines, then each group as one run of statements parted by semicolons."""
    lines: list[str] = []
    for release in story.releases:
        head = [pen.unit(release, unit) for unit in release.units]
        if day := pen.day(release):
            head.append(f"Date: {day}")
        head += [pen.need() for _ in range(pen.rng.randrange(3))]
        pen.rng.shuffle(head)
        lines += [pen.m.line(one) for one in head] + [""]
        for heading, own in _sections(pen, release, words().headings):
            runs = [one._replace(text=one.text.rstrip(".;")) for one in own if ";" not in one.text]
            if runs:
                label = pen.head((heading or "Changes").rstrip(":") + ":")
                lines += pen.m.paragraph(label + " " + "; ".join(map(pen.say, runs)) + ".")
    return lines


def questions(story: Story, pen: Pen) -> list[str]:
    """Questions as headings, answers in sentences."""
    lines: list[str] = []
    for release in story.releases[:2]:
        lines += _top(pen, release, 1)
        for heading, own in _sections(pen, release, {**words().headings, **words().questions}):
            ask = "Q: " if pen.style < 0.4 else ""
            lines += pen.m.heading(2, ask + pen.head(heading or "What is new?"))
            answer = " ".join(_sentence(pen, one) for one in own)
            lines += pen.m.paragraph(("A: " if ask else "") + answer)
    return lines


def version_table(story: Story, pen: Pen) -> list[str]:
    """A row a release: version, day, changes, requirements; the rest below as notes."""
    columns = words().columns
    names = ["version", "date", "changes", "requires"]
    if story.releases[0].day is None:
        names.remove("date")
    rows = []
    for release in story.releases:
        changes = [*release.changes[:4], *release.groups.get("effects", ())]
        needs = release.groups.get("requirements", ())[:2]
        cells = {
            "version": pen.version(release),
            "date": pen.day(release),
            "changes": _in_cell(pen, changes),
            "requires": _in_cell(pen, needs) or "-",
        }
        rows.append([cells[name] for name in names])
    head = [pen.head(pen.rng.choice(columns[name])) for name in names]
    lines = pen.m.heading(1, pen.head(f"{story.product} {pen.rng.choice(_HISTORY)}"))
    lines += pen.m.table(head, rows)
    newest = story.releases[0]
    for name in ("notices", "instructions", "known", "availability"):
        if own := newest.groups.get(name):
            lines += pen.m.heading(2, pen.head(pen.rng.choice(words().headings[name])))
            lines += pen.m.entries([pen.say(one, newest) for one in own])
    return lines


def _in_cell(pen: Pen, own: Iterable[Statement]) -> str:
    between = "<br>" if isinstance(pen.m, Markdown | Html) else "; "
    usable = [one for one in own if between == "<br>" or ";" not in one.text]
    return between.join(pen.say(one) for one in usable)


def settings_table(story: Story, pen: Pen) -> list[str]:
    """Changed settings as rows of old and new; everything else in lists."""
    lines: list[str] = []
    for release in story.releases[:2]:
        lines += _top(pen, release, 1)
        rows = [row for one in release.groups.get("effects", ()) if (row := _effect_row(pen, one))]
        left = [one for one in release.groups.get("effects", ()) if not is_effect_row(one)]
        if rows:
            lines += pen.m.heading(2, pen.head(pen.rng.choice(words().headings["effects"])))
            head = [pen.rng.choice(words().columns[n]) for n in ("setting", "before", "after")]
            lines += pen.m.table([pen.head(one) for one in head], rows)
        lines += pen.m.heading(2, pen.head(pen.rng.choice(words().headings["changes"])))
        lines += pen.m.entries([pen.say(one) for one in (*release.changes, *left)])
        for name in ("notices", *_AROUND):
            if own := release.groups.get(name):
                lines += pen.m.heading(2, pen.head(pen.rng.choice(words().headings[name])))
                lines += pen.m.entries([pen.say(one) for one in own])
    return lines


def _effect_row(pen: Pen, one: Statement) -> list[str] | None:
    """A row whose mark runs over all its cells."""
    found = is_effect_row(one)
    if not found:
        return None
    setting, old, new = (pen.m.words(cell) for cell in found)
    return [mark(one.tag, setting)[:-1], old or "-", f"{new}⟧"]


def labelled(story: Story, pen: Pen) -> list[str]:
    """Every entry begins with a label of its kind in brackets or capitals."""
    labels = {"X": "FIX", "F": "NEW", "B": "FLIGHT", "C": "COMPAT", "k": "KNOWN", "q": "REQ"}
    form = pen.rng.choice(("[{}] ", "{}: ", "({}) ", "{} - "))
    lines: list[str] = []
    for release in story.releases:
        lines += _top(pen, release, 1)
        entries = []
        for _, own in _sections(pen, release, words().headings):
            for one in own:
                kind = one.tag.split(";")[0].split()[-1][:1]
                label = labels.get(kind, labels.get(one.role, "NOTE"))
                entries.append(form.format(label) + pen.say(one))
        lines += pen.m.entries(entries)
    return lines


def tickets(story: Story, pen: Pen) -> list[str]:
    """A number of a ticket before each change, as a table or a list."""
    prefix = "".join(pen.rng.choice("ABCDFGKLMPRSTV") for _ in range(pen.rng.choice((2, 3))))
    lines: list[str] = []
    for release in story.releases:
        lines += _top(pen, release, 1)
        for heading, own in _sections(pen, release, words().headings):
            lines += pen.m.heading(2, pen.head(heading or "Changes"))
            keys = [f"{prefix}-{pen.rng.randrange(100, 9999)}" for _ in own]
            told = [one.role in "ck" for one in own]
            if all(told) and pen.style < 0.5:
                head = [pen.head(pen.rng.choice(words().columns[n])) for n in ("number", "changes")]
                rows = [[key, pen.say(one)] for key, one in zip(keys, own, strict=True)]
                lines += pen.m.table(head, rows)
            else:
                lines += pen.m.entries(
                    [
                        (f"{key}: " if numbered else "") + pen.say(one)
                        for key, numbered, one in zip(keys, told, own, strict=True)
                    ]
                )
    return lines


def chapters(story: Story, pen: Pen) -> list[str]:
    """Numbered sections with numbered statements."""
    lines: list[str] = []
    for release in story.releases[:2]:
        lines += _top(pen, release, 1)
        for number, (heading, own) in enumerate(_sections(pen, release, words().headings), 1):
            lines += pen.m.heading(2, f"{number}  {pen.head(heading or 'Changes')}")
            for sub, one in enumerate(own, 1):
                lines += pen.m.paragraph(f"{number}.{sub} {pen.say(one)}")
    return lines


def bilingual(story: Story, pen: Pen) -> list[str]:
    """Each change in another language and in English; the other one is a duplicate."""
    language = pen.rng.choice(("de", "fr", "zh", "ja"))
    first = pen.rng.random() < 0.6
    lines: list[str] = []
    for release in story.releases[:2]:
        lines += _top(pen, release, 1)
        lines += pen.m.heading(2, pen.head(pen.rng.choice(words().headings["changes"])))
        entries = []
        for pair in pen.rng.sample(list(words().bilingual), pen.rng.randint(3, 7)):
            both = [
                mark("d", pen.m.words(str(getattr(pair, language)))),
                mark(f"c {pair.kinds}", pen.m.words(pair.en)),
            ]
            entries += both if first else both[::-1]
        entries += [pen.say(one) for one in release.changes]
        lines += pen.m.entries(entries)
        for name in _AROUND:
            if own := release.groups.get(name):
                lines += pen.m.heading(2, pen.head(pen.rng.choice(words().headings[name])))
                lines += pen.m.entries([pen.say(one) for one in own])
    return lines


def _remarks(pen: Pen, story: Story) -> list[str]:
    if not story.remarks or pen.rng.random() < 0.5:
        return []
    return pen.m.paragraph(" ".join(_sentence(pen, one) for one in story.remarks[:2]))
