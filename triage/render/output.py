"""The forms an answer is printed in."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, assert_never

if TYPE_CHECKING:
    from triage.domain.answer import Advice


class Output(StrEnum):
    """Forms of the answer."""

    TEXT = "text"
    MARKDOWN = "markdown"
    HTML = "html"
    JSON = "json"


def rendered(advice: Advice, output: Output, *, brief: bool = False) -> str:
    """The answer in the form asked for; JSON is always whole."""
    from triage.render.answer import outline

    match output:
        case Output.TEXT:
            from triage.render.text import to_text

            return to_text(outline(advice, brief=brief))
        case Output.MARKDOWN:
            from triage.render.markdown import to_markdown

            return to_markdown(outline(advice, brief=brief))
        case Output.HTML:
            from triage.render.html import to_html

            return to_html(outline(advice, brief=brief))
        case Output.JSON:
            from triage import __version__
            from triage.render.json import answer_of

            answer = answer_of(__version__, advice.judged, advice.units)
            return answer.model_dump_json(indent=2) + "\n"
        case _:
            assert_never(output)
