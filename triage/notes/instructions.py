"""What the maker asks the operator to do or to heed around the update, as a typed list.

The words are common practice, no source: how notes in the trade put such sentences.
"""

from __future__ import annotations

import re

from triage.domain.notes import Instruction, InstructionKind, Place
from triage.notes.sentences import heads_of, sentences


def _heads(words: str) -> frozenset[str]:
    return frozenset(word[:4] for word in words.split())


# A rule is only tried on a sentence that holds a word beginning with one of its heads.
_GATES = {
    InstructionKind.NO_WAY_BACK: _heads(
        "downgrade roll rollback revert going go back return previous earlier older irreversible undone way"
    ),
    InstructionKind.SETTINGS_RESET: _heads(
        "reset lost erase clear wipe restore overwrite return default"
    ),
    InstructionKind.UPDATE_FIRST: _heads("first before prior"),
    InstructionKind.BACK_UP: _heads("back backup save export write note record copy"),
    InstructionKind.CHARGE: _heads("charge recharge battery batteries least above more over"),
    InstructionKind.EACH_UNIT: _heads("each every all one"),
    InstructionKind.CALIBRATE: _heads("calibrate recalibrate re"),
    InstructionKind.RETRY: _heads("again retry fails stops interrupted"),
    InstructionKind.RESTART: _heads("restart reboot re power turn switch"),
    InstructionKind.RECHECK: _heads(
        "check recheck re verify confirm review inspect test retest look go double set reconfigure readjust retune"
        " rebind rebinding repair relink"
    ),
    InstructionKind.WARNING: _heads(
        "warning caution danger attention do don't never risk must should injury prop propeller"
    ),
    InstructionKind.OTHER: _heads("please must should need have advised recommend make"),
}
_HEADS = frozenset().union(*_GATES.values())
_MODAL = re.compile(
    r"\bplease\b|\bmust\b|\bshould\b|\bmake sure\b|\bensure\b|\bneeds? to\b|\bha(?:s|ve) to\b|\brecommended\b|\brecommend\b|\badvised?\b"
    r"|\bafter (?:the )?(?:updat|upgrad|flash|install)\w*|\bbefore (?:the )?(?:first )?(?:updat|upgrad|flash|install|fly|flight|tak|arm)\w*"
    r"|\bonce (?:the )?(?:update|upgrade|installation)|\bwill need\b|\brequires? (?:a |an )?(?:re-?calibration|restart|reboot)|\bis (?:required|necessary|needed)\b"
    r"|\bif the (?:update|upgrade|installation)\b|\bwhen (?:updat|upgrad)\w+|\bremember to\b|\bbe sure\b",
    re.I,
)
_IMPERATIVE = re.compile(
    r"\A\W*(?:(?:note|notes|important|warning|caution|attention|reminder|notice)\W+)?(?:then |also |always |first,? |finally,? |you can |simply )?"
    r"(?:restart|reboot|power|turn|calibrate|recalibrate|re-calibrate|perform|run|do|don't|never|check|verify|re-?check|review|confirm|inspect|test|charge|update|upgrade|back|backup|save|export"
    r"|write|keep|connect|use|wait|try|retry|repeat|avoid|re-?bind|re-?pair|relink|re-?link|re-?set|reset|set|land|remove|install|unplug|disconnect|insert|rotate|record|note)\b",
    re.I,
)
_ADDRESS = re.compile(
    r"\b(?:you|your|before|after|first|again|flight|flying|update|aircraft|batter(?:y|ies)|firmware)\b",
    re.I,
)
_CHANGE = re.compile(
    r"\A\W*(?:[\w ]{1,30} ?: ?)?(?:fix\w*|add(?:ed|s)|improv\w+|optimi[sz]\w+|resolv\w+|correct(?:ed|s)|remov(?:ed|es)|chang(?:ed|es)|enhanc\w+|introduc\w+"
    r"|implement\w*|updated|updates|prevent\w*|avoid(?:s|ed)|reduc\w+|increas\w+|enabl(?:ed|es)|disabl\w+|allow\w*|mended|adds?|new\b|support\w*|renamed|moved|reverted|now\b)",
    re.I,
)
_RULES: tuple[tuple[InstructionKind, re.Pattern[str], bool], ...] = tuple(
    (kind, re.compile(words, re.I), spoken)
    for kind, words, spoken in (
        # kind, words, whether the sentence has to be spoken as an order or with must, should...
        (
            InstructionKind.NO_WAY_BACK,
            r"\b(?:cannot|can't|can not|not possible|impossible|no longer|not supported|won't|will not|not be able|unable|is not|isn't)\b[^.;]{0,80}"
            r"\b(?:downgrad\w*|roll(?:ed|ing)? ?back|rollback|revert\w*|go(?:ing)? back|return(?:ed)? to (?:an? )?(?:earlier|previous|older)|(?:earlier|previous|older) (?:firmware|versions?))"
            r"|\b(?:downgrad\w*|roll(?:ing)? ?back|rollback|revert(?:ing)?|going back)\b[^.;]{0,80}\b(?:not (?:possible|supported|available|allowed)|impossible|cannot|can't|disabled|blocked|no longer)"
            r"|\bno way back\b|\birreversible\b|\bcannot be undone\b|\bone[- ]way (?:update|upgrade)\b",
            False,
        ),
        (
            InstructionKind.SETTINGS_RESET,
            r"\b(?:settings?|parameters?|configurations?|preferences|values|profiles?|calibrations?|rates|modes|options|altitude|data)\b[^.;]{0,60}\b(?:(?:will|may|might|can|could|are|is|get|gets|has|have|be|been) (?:\w+ )?(?:be |been )?(?:reset|lost|erased|cleared|wiped|restored|overwritten|returned)|back to (?:their |the )?(?:factory |default))"
            r"|\b(?:resets?|erases?|clears?|wipes?|overwrites?|restores?)\b[^.;]{0,40}\b(?:all|your|the|every|some|to)\b[^.;]{0,30}\b(?:settings?|parameters?|configurations?|preferences|defaults?|profiles?)\b",
            False,
        ),
        (
            InstructionKind.UPDATE_FIRST,
            r"\b(?:update|upgrade|flash|install)\b[^.;]{0,60}\b(?:first|before (?:you |the |updat|upgrad|flash|install|any)|prior to)\b|\bfirst,? (?:update|upgrade|flash|install)\b|\b(?:must|should|ha(?:s|ve) to|needs? to) be (?:updated|upgraded|flashed|installed) (?:first|before)",
            False,
        ),
        (
            InstructionKind.BACK_UP,
            r"\bback ?-?up\b|\b(?:save|export|write down|note down|record|copy)\b[^.;]{0,40}\b(?:settings?|parameters?|configurations?|params|profiles?|missions?|logs?|flight (?:data|records))\b",
            True,
        ),
        (
            InstructionKind.RETRY,
            r"\b(?:try|attempt|start|repeat|run|update|install)\b[^.;]{0,50}\bagain\b|\bretry\b|\bif the (?:update|upgrade|installation) (?:fails|stops|is interrupted|does not)",
            True,
        ),
        (
            InstructionKind.CHARGE,
            r"\b(?:(?:re)?charge[sd]?|charging)\b|\bbatter(?:y|ies)\b[^.;]{0,60}\b(?:at least|above|more than|over|minimum|full)\b|\b(?:at least|above|more than|over) \d{1,3} ?%",
            True,
        ),
        (
            InstructionKind.EACH_UNIT,
            r"\b(?:each|every|all(?: of)?(?: the| your)?) (?:\w+ ){0,2}(?:batter(?:y|ies)|units?|controllers?|remotes?|goggles|devices?|escs?|motors?|receivers?|modules?|drones?|aircraft)\b[^.;]{0,60}\b(?:updat|upgrad|insert|install|flash|one (?:by|after))"
            r"|\b(?:updat\w*|upgrad\w*|insert\w*|install\w*|flash\w*|repeat\w*)\b[^.;]{0,50}\b(?:each|every|all)(?: of)? (?:the |your )?(?:\w+ ){0,2}(?:batter(?:y|ies)|units?|controllers?|goggles|devices?|escs?|receivers?|modules?|drones?|aircraft|it)\b|\bone (?:by one|after the other|at a time)\b",
            True,
        ),
        (
            InstructionKind.CALIBRATE,
            r"\b(?:re-?)?calibrat(?:e|ed|ion|ions|ing)\b",
            True,
        ),
        (
            InstructionKind.RESTART,
            r"\b(?:re-?start(?:ed|ing)?|re-?boot(?:ed|ing)?|power[- ]?cycl\w+|power (?:it |them |\w+ )?off and|turn (?:it |them |\w+ |the \w+ )?off and (?:back )?on|switch(?:ed)? off and on)\b",
            True,
        ),
        (
            InstructionKind.RECHECK,
            r"(?:\A\W*(?:\w+\W+){0,1}|\b(?:please|must|should|to|sure|carefully|always|and|then|you)\s+(?:you |that you )?)"
            r"(?:re-?check|check|verify|confirm|review|inspect|re-?test|test|look over|go over|double-check|set (?:\w+ ){1,4}again"
            r"|re-?configure|re-?adjust|re-?tune|re-?bind|re-?pair|re-?link)\b"
            r"|\bshould (?:\w+ )?be (?:\w+ )?(?:re-?)?(?:checked|tested|reviewed|verified|inspected|bound|paired)\b"
            r"|\b(?:re-?check|review|test flight|test hover|re-?binding|re-?pairing)\b[^.;]{0,40}\b(?:recommended|required|advised|necessary)\b",
            True,
        ),
        (
            InstructionKind.WARNING,
            r"\A\W*(?:warning|caution|danger|attention)\b|\A\W*(?:(?:please|note|important|also)\W+)?(?:do not|don't|never)\b(?! (?:show|draw|send|use|allow|display|log|call|load|run|set)\b(?!.*\b(?:you|your|before|after|while|until|during)\b))|\byou (?:must not|should (?:not|never))\b|\bat your own risk\b|\bmust not\b|\bdangerous\b|\brisk of\b|\binjur\w+|\bprops? off\b|\bremove (?:the |all )?prop(?:eller)?s\b",
            False,
        ),
    )
)


def may_instruct(text: str) -> bool:
    """A cheap first look: whether any word begins as the words of instructions do."""
    return not _HEADS.isdisjoint(heads_of(text))


def instructions_in(text: str, place: Place) -> list[Instruction]:
    """The instructions in a statement, each sentence under the kind that fits it best."""
    if not may_instruct(text):
        return []
    found = []
    for start, end in sentences(text):
        sentence = text[start:end]
        kind = kind_of(sentence) if len(sentence) <= 800 else None
        if kind is not None:
            found.append(Instruction(kind=kind, text=sentence, place=place))
    return found


def kind_of(sentence: str) -> InstructionKind | None:
    """The kind of instruction a sentence is, None when it only tells what changed."""
    heads = heads_of(sentence)
    open_rules = [rule for rule in _RULES if not _GATES[rule[0]].isdisjoint(heads)]
    other = not _GATES[InstructionKind.OTHER].isdisjoint(heads)
    if not (open_rules or other) or _CHANGE.match(sentence):
        return None
    spoken = bool(
        _MODAL.search(sentence)
        or (_IMPERATIVE.match(sentence) and (sentence[-1] in ".!" or _ADDRESS.search(sentence)))
    )
    for kind, pattern, order in open_rules:
        if (spoken or not order) and pattern.search(sentence):
            return kind
    if other and (_ORDER.match(sentence) or _ADVICE.search(sentence)):
        return InstructionKind.OTHER
    return None


_ORDER = re.compile(
    r"\A\W*(?:(?:note|important|notice)\W+)?please (?!see|read|note that the)\w+", re.I
)
_ADVICE = re.compile(
    r"\b(?:you|users|pilots|operators|everyone) (?:must|should|need to|have to|are advised)\b|\b(?:it is|we) (?:strongly |highly )?(?:recommend|advis)\w*\b|\bmake sure\b",
    re.I,
)
