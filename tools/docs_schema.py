"""docs/reference/machine-file.schema.json: the machine file's JSON Schema, as published."""

from __future__ import annotations

import json

PAGE = "reference/machine-file.schema.json"


def text() -> str:
    from tripmargin.machine import json_schema

    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"
