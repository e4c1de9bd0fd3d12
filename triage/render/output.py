"""The forms an answer is printed in."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from triage.domain.answer import Advice


class Output(StrEnum):
    """Forms of the answer."""

    TEXT = "text"
    MARKDOWN = "markdown"
    HTML = "html"
    JSON = "json"


def rendered(advice: Advice, output: Output, *, brief: bool = False) -> str:
    """The answer in the form asked for."""
    if output is Output.JSON:
        from triage import __version__
        from triage.render.json import answer_of

        answer = answer_of(__version__, advice.judged, advice.units)
        return answer.model_dump_json(indent=2) + "\n"
    from triage.render.answer import outline

    whole = outline(advice, brief=brief)
    if output is Output.MARKDOWN:
        from triage.render.markdown import to_markdown

        return to_markdown(whole)
    if output is Output.HTML:
        from triage.render.html import to_html

        return to_html(whole)
    from triage.render.text import to_text

    return to_text(whole)
