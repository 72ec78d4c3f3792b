"""Documents held against the schemas that are shipped, with no room for a key that they do not name.

Gives: schema(), strict(), wrong().
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema_rs

__all__ = ["SCHEMAS", "schema", "strict", "wrong"]

SCHEMAS = Path(__file__).parents[2] / "docs" / "schema"


@cache
def schema(name: str) -> Any:
    return json.loads((SCHEMAS / f"{name}.json").read_text("utf-8"))


def strict(part: Any) -> Any:
    """The same schema without room for a key that it does not name."""
    if isinstance(part, list):
        return [strict(each) for each in part]
    if not isinstance(part, dict):
        return part
    made = {key: strict(each) for key, each in part.items()}
    return {**made, "additionalProperties": False} if isinstance(part.get("required"), list) else made


def wrong(name: str, document: Any) -> list[str]:
    found = jsonschema_rs.Draft202012Validator(strict(schema(name))).iter_errors(document)
    return [f"{'/'.join(map(str, error.instance_path))}: {error.message[:200]}" for error in found]
