"""Writes statements, titles and version lines with their marks, and keeps what was printed."""

from __future__ import annotations

import random

from triage.training.markups import Markup, mark
from triage.training.stories import Release, Statement, Story, Unit, words, written_day

_NEEDS = (
    ("at-least", "{unit}: {version} or later"),
    ("at-least", "{unit}: {version} or higher"),
    ("at-least", "{unit} {version}+"),
    ("at-least", "{unit}: from {version}"),
    ("at-least", "Minimum {unit} version: {version}"),
    ("exactly", "{unit}: exactly {version}"),
    ("with", "{unit}: for use with {version}"),
    ("not-with", "{unit}: not {version}"),
    ("below", "{unit}: older than {version}"),
)


class Pen:
    """Writes in one markup, and keeps which days and units it has printed."""

    def __init__(self, rng: random.Random, markup: Markup, story: Story) -> None:
        self.rng, self.m, self.story = rng, markup, story
        self.days: set[int] = set()
        self.units: dict[int, list[Unit]] = {}
        self.style = rng.random()  # one manner of titles for the whole document

    def say(self, one: Statement, release: Release | None = None) -> str:
        """A statement in its mark; with the number of its release where that is not the last."""
        tag = f"{one.tag};@{release.number}" if release else one.tag
        return mark(tag, self.m.words(one.text))

    def head(self, text: str) -> str:
        """A heading's words in their mark."""
        return mark("h", self.m.words(text))

    def title(self, release: Release) -> tuple[str, str]:
        """The line that gives the version, and the one that gives the day ('' for none)."""
        w, story = words(), self.story
        first = release.number == 1 or len(story.releases) == 1
        forms = w.titles["first"] if first and self.style < 0.6 else w.titles["repeated"]
        form = forms[int(self.style * 997) % len(forms)] if not first else self.rng.choice(forms)
        text = form.format(
            name=release.product,
            maker=story.maker,
            version=release.version,
            bare=release.version.lstrip("vV"),
        )
        self.printed(release, release.units[0])
        if release.day is None:
            return mark(f"v {release.number}", self.m.words(text)), ""
        day = written_day(random.Random(int(self.style * 1e6)), release.day)
        self.days.add(release.number)
        if self.style < 0.5:
            form = w.titles["day_along"][int(self.style * 2000) % len(w.titles["day_along"])]
            text = form.format(title=text, day=day)
            return mark(f"v {release.number}", self.m.words(text)), ""
        form = w.titles["day_apart"][int(self.style * 3000) % len(w.titles["day_apart"])]
        title = mark(f"v {release.number}", self.m.words(text))
        return title, mark(f"v {release.number}", self.m.words(form.format(day=day)))

    def unit(self, release: Release, unit: Unit) -> str:
        """A line that gives a unit's version."""
        self.printed(release, unit)
        form = words().titles["unit"][int(self.style * 5000) % len(words().titles["unit"])]
        text = form.format(unit=unit.name, version=unit.version, bare=unit.version.lstrip("vV"))
        return mark(f"v {release.number}", self.m.words(text))

    def need(self) -> str:
        """A line of the head that asks for a version of another unit."""
        w, rng = words(), self.rng
        component = rng.choice(sorted(set(w.units) - {self.story.component, "other"}))
        unit = rng.choice(w.units[component]).format(model=self.story.product)
        version = f"{rng.randrange(1, 9)}.{rng.randrange(0, 20)}" + rng.choice(("", ".1", ".0"))
        comparison, form = rng.choice(_NEEDS)
        text = form.format(unit=unit[:1].upper() + unit[1:], version=version)
        return mark(f"q;q={component}~{comparison}~{version}", self.m.words(text))

    def printed(self, release: Release, unit: Unit) -> None:
        """Note that a unit's version stands in the document."""
        shown = self.units.setdefault(release.number, [])
        if unit not in shown:
            shown.append(unit)

    def day(self, release: Release) -> str:
        """The day alone, '' where there is none."""
        if release.day is None:
            return ""
        self.days.add(release.number)
        text = written_day(random.Random(int(self.style * 1e6)), release.day)
        return mark(f"v {release.number}", self.m.words(text))

    def version(self, release: Release) -> str:
        """The version alone."""
        self.printed(release, release.units[0])
        return mark(f"v {release.number}", self.m.words(release.version))
