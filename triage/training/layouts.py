"""Layouts of rendered documents: a structure in a markup within a frame, a table row each."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from typing import NamedTuple

from triage.training import structures as s
from triage.training.documents import Annotated, annotated_from
from triage.training.markups import Html, Markdown, Markup, Text, finished, mark
from triage.training.pen import Pen
from triage.training.stories import Pools, Story, pools, story, words

Structure = Callable[[Story, Pen], list[str]]
Frame = Callable[[Story, Pen, list[str]], list[str]]


class Layout(NamedTuple):
    """How a document looks: its structure, its markup, and what is around the notes."""

    name: str
    ending: str
    markup: Markup
    structure: Structure
    frame: Frame


def _boilerplate(story: Story, pen: Pen, sort: str, most: int) -> list[str]:
    lines = list(story.boilerplate.get(sort, ()))
    return [pen.m.words(line) for line in lines[: pen.rng.randint(1, most)]]


def bare(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """The notes alone."""
    return lines


def thanked(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """A greeting before and thanks behind."""
    before, *behind = [pen.say(one, story.releases[0]) for one in story.remarks]
    ends = [line for one in behind for line in pen.m.paragraph(one)]
    return [*pen.m.paragraph(before), *lines, "", *ends]


def web_page(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """A page with navigation above, and a foot below."""
    around = _boilerplate(story, pen, "web", 7)
    half = len(around) // 2
    top = [f"{story.maker}", "Products", "Support", "Shop", *around[:half]]
    if isinstance(pen.m, Html):
        nav = "<nav>" + "".join(f"<a href='#'>{one}</a>" for one in top) + "</nav>"
        foot = "<footer>" + " | ".join(around[half:]) + f"<br>© {story.maker}</footer>"
        return ["<body>", nav, "<main>", *lines, "</main>", foot, "</body></html>"]
    bar = pen.rng.choice(("   ", " | ", "\n", " > "))
    return [
        *bar.join(top).split("\n"),
        "",
        *lines,
        *pen.m.rule(),
        *around[half:],
        f"© {story.maker}",
    ]


def store_page(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """An app store: the name above, reviews and ratings below."""
    stars = pen.rng.choice(("4.2 ★", "3,9 out of 5", "★★★★☆"))
    reviews = []
    for one in story.users[:3]:
        reviews += pen.m.paragraph(f"{pen.rng.choice(words().people['users'])}  {stars}")
        reviews += pen.m.paragraph(pen.say(one, story.releases[0]))
    around = _boilerplate(story, pen, "store", 6)
    head = [*pen.m.paragraph(f"{story.product} - {story.maker}"), *pen.m.paragraph(stars)]
    return [*head, *lines, *pen.m.rule(), *reviews, *(pen.m.line(one) for one in around)]


def forum(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """A post by the maker, and replies of users, some with quotations."""
    people = words().people
    out = [pen.m.line(f"{pen.rng.choice(people['staff'])} wrote:"), "", *lines]
    for one in story.users:
        stamp = f"{pen.rng.randrange(24):02}:{pen.rng.randrange(60):02}"
        out += [*pen.m.rule(), pen.m.line(f"{pen.rng.choice(people['users'])}, {stamp}"), ""]
        if pen.rng.random() < 0.3:
            quoted = mark(f"u;@{story.releases[0].number}", pen.m.words("the update is out"))
            out += [*pen.m.quoted([quoted]), ""]
        out += pen.m.paragraph(pen.say(one, story.releases[0]))
    return [*out, *_boilerplate(story, pen, "repository", 3)]


def mail(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """A mail as it was saved: its head, a greeting, the notes, and how to unsubscribe."""
    newest = story.releases[0]
    title = f"{story.product} {newest.version}"
    subject = pen.rng.choice(("{} is here", "New: {}", "Update {} for your aircraft", "{}"))
    day = pen.rng.randrange(1, 28)
    head = [
        f"From: {story.maker} <news@{story.product.split()[0].lower().strip('-')}.example>",
        "To: owners@lists.example",
        "Subject: " + mark(f"v {newest.number}", subject.format(title)),
        f"Date: Thu, {day} Nov 2026 0{pen.rng.randrange(10)}:12:00 +0000",
    ]
    if isinstance(pen.m, Html):
        head += ["MIME-Version: 1.0", "Content-Type: text/html; charset=utf-8"]
    greeting = pen.say(story.remarks[0], newest)
    around = _boilerplate(story, pen, "mail", 4)
    foot = [*pen.m.rule(), *(pen.m.line(one) for one in around)]
    return [*head, "", *pen.m.paragraph(greeting), *lines, *foot]


def newsletter(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """A newsletter copied as text: view in browser, greeting, notes, adverts."""
    advert = pen.rng.choice(
        (
            "THIS WEEKEND: {} % off propellers",
            "New in the shop: carrying case, {} EUR",
            "Our webinar on mapping: {} places left",
        )
    ).format(pen.rng.randrange(10, 60))
    around = _boilerplate(story, pen, "mail", 5)
    greeting = pen.m.paragraph(pen.say(story.remarks[0], story.releases[0]))
    foot = [*pen.m.rule(), pen.m.words(advert), *pen.m.rule(), *map(pen.m.line, around)]
    return [*pen.m.paragraph("View this mail in your browser"), *greeting, *lines, *foot]


def paper(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """Text of a PDF: a running title and a foot on each page."""
    number = f"{pen.rng.choice('ABRS')}N-{pen.rng.randrange(100, 999)}"
    title = f"{story.maker}          {number}"
    pages: list[list[str]] = [[]]
    for line in lines:
        if len(pages[-1]) > 24 and not line:
            pages.append([])
        pages[-1].append(line)
    out: list[str] = []
    for count, page in enumerate(pages, 1):
        foot = f"{story.maker} - subject to change          Page {count} of {len(pages)}"
        out += [title, "", *page, "", foot, *(["\f"] if pen.style < 0.3 else [])]
    return out


def chat(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """Messages with the hour and the writer before each; blank lines are left out."""
    staff = pen.rng.choice(words().people["staff"])
    minute = pen.rng.randrange(0, 20)
    out = []
    for line in (one for one in lines if one.strip()):
        minute = min(59, minute + pen.rng.randrange(2))
        out.append(f"[10:{minute:02}] {staff}: {line}")
    for one in story.users[:4]:
        minute = min(59, minute + 1)
        who = pen.rng.choice(words().people["users"])
        out.append(f"[10:{minute:02}] {who}: {pen.say(one, story.releases[0])}")
    return out


def question_and_reply(story: Story, pen: Pen, lines: list[str]) -> list[str]:
    """An answer of support to a customer's mail, which is quoted below."""
    newest = story.releases[0]
    asked = [pen.say(one, newest) for one in story.users[:2]]
    begin = pen.m.paragraph(pen.say(story.remarks[0], newest))
    quoted = ["", "On Monday a customer wrote:", *pen.m.quoted(asked)]
    return [*begin, *lines, pen.rng.choice(words().people["staff"]), *quoted]


LAYOUTS = (
    Layout("rendered-dashes", "txt", Text("-", 0, "underline"), s.lists, bare),
    Layout("rendered-wrapped", "txt", Text("*", 72, "capitals", 2), s.lists, bare),
    Layout("rendered-deep", "txt", Text("•", 80, "colon", 4), s.lists, thanked),
    Layout("rendered-plain-lines", "txt", Text("", 0, "plain"), s.lists, web_page),
    Layout("rendered-numbered", "txt", Text("1.", 76, "bracket", 1), s.lists, bare),
    Layout("rendered-short-list", "txt", Text("-", 0, "plain"), s.bare_lists, bare),
    Layout("rendered-bullets-page", "txt", Text("•", 0, "plain"), s.bare_lists, web_page),
    Layout("rendered-history", "txt", Text("+", 0, "dashes", 1), s.bare_lists, bare),
    Layout("rendered-letter", "txt", Text("-", 70, "plain"), s.prose, thanked),
    Layout("rendered-article", "txt", Text("-", 0, "plain"), s.prose, web_page),
    Layout("rendered-key-value", "txt", Text("-", 84, "plain"), s.semicolons, bare),
    Layout("rendered-key-value-line", "txt", Text("-", 0, "plain"), s.semicolons, store_page),
    Layout("rendered-questions", "txt", Text("-", 74, "plain"), s.questions, web_page),
    Layout(
        "rendered-table-bars",
        "txt",
        Text("-", 0, "underline", columns=" | "),
        s.version_table,
        bare,
    ),
    Layout(
        "rendered-table-tabs", "txt", Text("-", 0, "plain", columns="\t"), s.version_table, web_page
    ),
    Layout("rendered-table-settings", "txt", Text("-", 0, "capitals", 2), s.settings_table, paper),
    Layout("rendered-bulletin", "txt", Text("", 78, "plain"), s.chapters, paper),
    Layout("rendered-chapters", "txt", Text("-", 0, "plain"), s.chapters, bare),
    Layout("rendered-kinds", "txt", Text("-", 0, "underline"), s.labelled, bare),
    Layout("rendered-kinds-wrapped", "txt", Text("*", 66, "dashes", 1), s.labelled, newsletter),
    Layout("rendered-tickets", "txt", Text("-", 88, "colon", 2), s.tickets, paper),
    Layout("rendered-two-languages", "txt", Text("1、", 0, "bracket"), s.bilingual, bare),
    Layout("rendered-forum", "txt", Text("-", 0, "plain"), s.lists, forum),
    Layout("rendered-forum-prose", "txt", Text("-", 0, "plain"), s.prose, forum),
    Layout("rendered-chat", "txt", Text("-", 0, "plain"), s.bare_lists, chat),
    Layout("rendered-newsletter", "txt", Text("*", 68, "capitals", 1), s.lists, newsletter),
    Layout("rendered-store", "txt", Text("•", 0, "plain"), s.bare_lists, store_page),
    Layout("rendered-support", "txt", Text("-", 76, "colon"), s.lists, question_and_reply),
    Layout("rendered-md", "md", Markdown("-"), s.lists, bare),
    Layout("rendered-md-stars", "md", Markdown("*", "underline", 78), s.lists, thanked),
    Layout("rendered-md-bold", "md", Markdown("-", "bold"), s.lists, forum),
    Layout("rendered-md-table", "md", Markdown("-"), s.version_table, bare),
    Layout("rendered-md-settings", "md", Markdown("1."), s.settings_table, bare),
    Layout("rendered-md-questions", "md", Markdown("-", "bold", 90), s.questions, thanked),
    Layout("rendered-md-prose", "md", Markdown("-", "hashes", 82), s.prose, bare),
    Layout("rendered-md-tickets", "md", Markdown("*"), s.tickets, bare),
    Layout("rendered-md-two-languages", "md", Markdown("-"), s.bilingual, bare),
    Layout("rendered-html", "html", Html(), s.lists, web_page),
    Layout("rendered-html-bold", "html", Html("br", "b"), s.lists, web_page),
    Layout("rendered-html-paragraphs", "html", Html("p", "h"), s.bare_lists, store_page),
    Layout("rendered-html-table", "html", Html(), s.version_table, web_page),
    Layout("rendered-html-settings", "html", Html("ol", "h", th=False), s.settings_table, bare),
    Layout("rendered-html-prose", "html", Html("p"), s.prose, web_page),
    Layout("rendered-html-questions", "html", Html("ul", "b"), s.questions, web_page),
    Layout("rendered-html-tickets", "html", Html(), s.tickets, forum),
    Layout("rendered-mail", "eml", Text("*", 76, "underline", 2), s.lists, mail),
    Layout("rendered-mail-prose", "eml", Text("-", 72, "plain"), s.prose, mail),
    Layout("rendered-mail-page", "eml", Html(), s.lists, mail),
)


def rendered(seed: int, count: int, own: Pools | None = None) -> Iterator[Annotated]:
    """Documents in all layouts by turns; the same ones for the same seed and the same pools."""
    drawn = own or pools()
    for number in range(count):
        layout = LAYOUTS[number % len(LAYOUTS)]
        yield render(layout, seed, number, drawn)


def render(layout: Layout, seed: int, number: int, own: Pools) -> Annotated:
    """One document."""
    rng = random.Random(f"{seed}/{number}/{layout.name}")
    tale = story(rng, own)
    pen = Pen(rng, layout.markup, tale)
    lines = layout.frame(tale, pen, layout.structure(tale, pen))
    name = f"{layout.name}-{seed}-{number}.{layout.ending}"
    return annotated_from(_head(layout, tale, pen) + finished(lines), name, name)


def _head(layout: Layout, tale: Story, pen: Pen) -> str:
    """The head of an annotated document: what its releases are, as far as it was printed."""
    lines = [f"%% layout: {layout.name}"]
    for release in tale.releases:
        if release.number not in pen.units:
            continue
        day = release.day.isoformat() if release.day and release.number in pen.days else ""
        fields = [f"%% release {release.number}", f"version={release.version}", f"date={day}"]
        fields += ["withdrawn"] * release.withdrawn + ["prerelease"] * release.prerelease
        fields += [f"unit={'~'.join(unit)}" for unit in pen.units[release.number]]
        lines.append("  ".join(fields))
    return "\n".join([*lines, "%% end", ""])
