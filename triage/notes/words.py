"""Words by which layout is told from language: section titles and verbs of change.

Common practice, no source: collected from how notes are written in the trade.
"""

from __future__ import annotations

import re

_SECTION = frozenset(
    "new feature features added adds add additions changed change changes deprecated deprecations removed removals"
    " removal fixed fix fixes bug bugs bugfix bugfixes bug-fixes security improved improvement"
    " improvements enhancement enhancements optimization optimizations optimisation optimisations"
    " optimized known issue issues limitation limitations note notes important what's whats highlights"
    " highlight summary overview breaking other minor major general misc miscellaneous performance"
    " updates update updated upgrade upgrading compatibility requirement requirements supported support"
    " unsupported board boards device devices hardware driver drivers documentation docs warning"
    " warnings caution tips precautions and & specific system level chores chore tests internal"
    " release details content contents description detail resolved corrections correction"
    " firmware software app aircraft controller goggles battery camera gimbal parameters renamed"
    " features/improvements fixes/improvements the in this version of for to enhanced modified"
    " announcement announcements disclaimer attention reminder reminders installation instructions"
    " modifications modification stability reliability user interface ui common all refactoring"
    " code maintenance build housekeeping safety tasks task story stories epic sub-task wish test".split()
)
_SECTION_CORE = re.compile(
    r"\b(?:new|features?|add(?:ed|itions)|chang(?:ed|es?)|deprecat\w+|remov\w+|fix(?:ed|es)?|bug[ -]?fix(?:es)?|bugs?|security"
    r"|improve(?:d|ments?)|enhancements?|optimi[sz]\w+|issues?|limitations?|notes?|important|what'?s"
    r"|highlights?|summary|overview|breaking|misc\w*|performance|updated?s?|compatibility"
    r"|requirements?|supported|documentation|warnings?|caution|tips|precautions|chores?|resolved"
    r"|corrections?|disclaimer|attention|reminders?|instructions|modifications?|tasks?|stories|other"
    r"|general|common|stability|safety|maintenance|refactoring)\b",
    re.I,
)
_VERBS = (
    "add adds added adding fix fixes fixed fixing improve improves improved improving update updates"
    " updated updating upgrade upgraded remove removes removed removing change changes changed"
    " changing optimize optimizes optimized optimise optimised optimizing support supports supported"
    " supporting enable enables enabled disable disables disabled allow allows allowed implement"
    " implements implemented correct corrects corrected resolve resolves resolved reduce reduces"
    " reduced increase increases increased enhance enhances enhanced introduce introduces introduced"
    " introducing rename renames renamed replace replaces replaced revert reverts reverted refactor"
    " refactored prevent prevents prevented avoid avoids avoided handle handles handled move moves"
    " moved drop drops dropped make makes made use uses used set sets show shows shown display"
    " displays hide hides extend extends extended adjust adjusts adjusted adapt adapts adapted"
    " restore restores restored simplify simplified unify unified repaired solved addressed"
    " eliminated deprecate deprecated expose exposes exposed limit limited lower lowered raise raised"
    " tweak tweaked tune tuned clean cleaned ensure ensures include includes included provide"
    " provides provided switch switched speed refined reworked redesigned rewrote rewritten"
    " completed created bumped patched merged ported validate validated check checks checked no-longer"
)
VERBS = frozenset(_VERBS.split())
_PARTICIPLES = frozenset(
    "added adds add fixed fix improved removed changed updated update optimized enhanced modified"
    " upgrade upgrading deprecated resolved renamed supported".split()
)
_BESIDE = frozenset(
    "features feature functions and & or issues issue bugs bug fixes changed removed deprecated"
    " improved fixed improvements support boards board devices device hardware parameters".split()
)
_FIRST = re.compile(r"[\W_]*([A-Za-z][\w'-]*)")
_CHANGES_FROM = re.compile(
    r"\A\W*(?:(?:full |all |list of )?(?:changes|change ?log|differences)|what(?:'s| has)? changed)"
    r"(?: (?:made|included|introduced))?\s+(?:from|since|in|between|for|to|over|compared)\b[^!?]{1,80}\Z",
    re.I,
)
_FURNITURE = re.compile(
    r"\A\W*(?:full change ?log\b.{0,20}\Z|@?[\w\[\]-]{1,60} made (?:their|his|her) first contribution\b"
    r"|download(?:s| link)?s?\W*\Z|table of contents\W*\Z)",
    re.I,
)
_PREAMBLE = re.compile(
    r"\A\W*(?:this (?:document|page|file|changelog|change log|list)\b|all notable changes\b"
    r"|the format (?:of this \w+ )?is (?:based|inspired)\b|all dates in this\b|\(?all notable\b)",
    re.I,
)


def starts_with_verb(text: str) -> bool:
    """Whether the text begins with a verb of change ('Added', 'fixes')."""
    first = _FIRST.match(text)
    return bool(first) and first.group(1).lower() in VERBS if first else False


def known_section(text: str) -> bool:
    """Whether the text is a usual section title ('Bug fixes and improvements:')."""
    if len(text) > 70:
        return False
    bare = re.sub(r"\A\W*(?:\d{1,2}[.)]\s*)?", "", text).rstrip(" :*_#=!?-–—.").lower()
    words = bare.replace("/", " ").replace(",", " ").split()
    if not words or len(words) > 7:
        return False
    if words[0] in _PARTICIPLES and not all(word in _BESIDE for word in words[1:]):
        return False
    return all(w.strip("()'\"*_") in _SECTION for w in words) and bool(_SECTION_CORE.search(bare))


def title_like(text: str) -> bool:
    """Whether a line can be a heading by its look: short, no sentence, no verb of change in front."""
    bare = text.strip().strip("*_#= ")
    if not bare or len(bare) > 90 or bare[-1] in ".;,!":
        return False
    if known_section(bare):
        return True
    words = bare.split()
    return len(words) <= 10 and not starts_with_verb(bare) and any(c.isalpha() for c in bare)


def names_base_only(text: str) -> bool:
    """Whether a line only tells what the changes are counted from ('Changes since 1.2')."""
    return bool(_CHANGES_FROM.match(text))


def is_furniture(text: str) -> bool:
    """Whether a line only points elsewhere or names first-time contributors."""
    low = text[:120].lower()
    telling = "made" in low or "change" in low or "download" in low or "table" in low
    return telling and bool(_FURNITURE.match(text))


def is_preamble(text: str) -> bool:
    """Whether a paragraph speaks of the document itself."""
    return bool(_PREAMBLE.match(text))
