"""`triage schema`: the JSON Schema of --json."""

from __future__ import annotations

from triage.cli.out import say


def schema() -> None:
    """Print the JSON Schema (draft 2020-12) of what --json prints."""
    import json

    from triage.render.json import AnswerRecord

    record = AnswerRecord.model_json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", **record}
    say(json.dumps(head, indent=2) + "\n")
