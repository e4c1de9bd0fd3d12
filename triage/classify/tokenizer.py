"""spaCy's tokenizer with rules for notes: parameter names fall into words, hyphens into pieces."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spacy.tokenizer import Tokenizer

_EDGE = r"""[^\w\s%°+#]|_"""
# Underscores, joints and camel-case steps (RTL_ALT, return-to-home, GimbalControl, RPMFilter), but
# no steps within LEDs, DShot, mW and GHz.
_CAMEL = r"""(?<=[a-z][a-z])(?=[A-Z])|(?<=[A-Z][A-Z])(?=[A-Z][a-z][a-z])"""
_INNER = rf"""[^\w\s.°%+#]|_|{_CAMEL}|(?<=\D)\.|\.(?=\D)"""


def tokenizer() -> Tokenizer:
    """A tokenizer over a bare vocabulary; a whole blank pipeline would take a tenth of a second."""
    from spacy.attrs import LOWER
    from spacy.tokenizer import Tokenizer
    from spacy.vocab import Vocab

    return Tokenizer(
        Vocab(lex_attr_getters={LOWER: str.lower}),
        rules={},
        prefix_search=re.compile(rf"^(?:{_EDGE})").search,
        suffix_search=re.compile(rf"(?:{_EDGE}|\.)$").search,
        infix_finditer=re.compile(_INNER).finditer,
    )
