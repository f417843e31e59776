"""What stands on a sheet of paper before anybody writes on it."""

from __future__ import annotations

from typing import TypedDict


class SheetLine(TypedDict):
    """A stretch of a seam on a probe sheet, m along it; `to_m` is None where no length is listed."""

    name: str
    from_m: float
    to_m: float | None
    note: str
