"""What a guided day recorded."""

from __future__ import annotations

from typing import Any


def kinds(job: Any) -> list[str]:
    """What is recorded since the job and its seams were listed."""
    return [
        e["kind"]
        for e in job.entries()
        if e["kind"] not in ("job", "sheet", "machine", "person", "seam", "advice", "limit")
    ]
