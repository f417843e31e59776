"""What `doubt` says, as its tests ask it."""

from __future__ import annotations

from typing import Any

SET = "--nozzle 932 --speed 5.5"
FT = 0.3048


def places(book: Any, failure: str) -> list[tuple[str, float, float]]:
    """What a failure puts in doubt, in ft; seams as they are called."""
    (doubt,) = (d for d in book.ok("doubt --json").json["doubts"] if d["failure"] == failure)
    return [
        (p["seam"].upper(), round(p["start_m"] / FT, 2), round(p["end_m"] / FT, 2))
        for p in doubt["places"]
    ]


def said(book: Any, line: str = "doubt") -> str:
    """The page, unfolded."""
    return " ".join(book.ok(line).out.split())
