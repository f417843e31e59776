"""JSON as types: what a document for a program is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias, cast

JsonValue: TypeAlias = (
    bool | int | float | str | Sequence["JsonValue"] | Mapping[str, "JsonValue"] | None
)
JsonObject: TypeAlias = dict[str, JsonValue]

# What an entry's payload is: JSON, of which the record of its kind says what it holds.
Payload: TypeAlias = dict[str, Any]


def of_row(row: Mapping[str, object]) -> JsonObject:
    """A row as JSON: its columns hold nothing but text and numbers."""
    return cast(JsonObject, dict(row))
