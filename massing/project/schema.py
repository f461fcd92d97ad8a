"""The JSON Schema of project files, made from the very models that read them."""

from __future__ import annotations

import json
from typing import Any

from massing.project.file import ProjectFile

__all__ = ["project_schema", "schema_dict"]


def schema_dict() -> dict[str, Any]:
    """The schema as plain data, in the file's own words."""
    made = ProjectFile.model_json_schema(by_alias=True)
    placements = {"type": "array", "items": {"$ref": "#/$defs/PlacementSpec"}}
    # A scheme may be written as just its placements; the reader spells that out before the model.
    made["properties"]["schemes"]["additionalProperties"] = {
        "anyOf": [{"$ref": "#/$defs/SchemeSpec"}, placements]
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **made,
        "title": "massing project",
    }


def project_schema() -> str:
    """The schema as JSON text."""
    return json.dumps(schema_dict(), indent=2, ensure_ascii=False)
