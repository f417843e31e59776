"""A note on something recorded, as a code and its values."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

# By code: `reports.sentences` knows what each holds, and a test that each code has its sentence.
Values = dict[str, Any]


class Note(Struct, frozen=True):
    """Something to tell about what was recorded: a code and its values."""

    code: str
    values: Values
