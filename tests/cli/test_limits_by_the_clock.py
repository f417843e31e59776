"""A limit holds from the local time at which it was adopted, also where clocks are set.

Denver's clocks go from 01:59 to 03:00 on 2026-03-08, and from 01:59 back to 01:00 on 2026-11-01
(the IANA time zone database).
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

import html5lib
import pytest

ADOPT = "limit set bleed_low 5/16in --source 'maker sheet 12' --by AR"
CHECK = "bleed A1 {n} 1/4,1/4,1/4 --bubbling none"


def at(job: Any, moment: str) -> Any:
    """Go to a moment, with its offset."""
    job.clock.moment = datetime.fromisoformat(moment)
    return job


def outside(job: Any) -> dict[str, bool]:
    """Whether each check of A1 was outside, as the trace has it."""
    events = job.ok("trace A1 --json").json["events"]
    return {e["name"]: bool(e["shortfalls"]) for e in events if e["what"] == "bleed"}


def adopted_at(job: Any, folder: Any) -> str:
    """The dossier's words."""
    job.ok(f"dossier {folder / 'd'} --only html")
    tree = html5lib.parse((folder / "d.html").read_text("utf-8"), namespaceHTMLElements=False)
    return " ".join(" ".join(tree.itertext()).split())


@pytest.mark.parametrize(
    ("before", "adopted", "after", "shown"),
    [
        ("2026-06-01T09:59-06:00", "2026-06-01T10:00-06:00", "2026-06-01T10:01-06:00", "10:00"),
        # Two minutes, an hour by the clock.
        ("2026-03-08T01:58-07:00", "2026-03-08T01:59-07:00", "2026-03-08T03:00-06:00", "01:59"),
        # By the clock the check after it was earlier than the one before it.
        ("2026-11-01T01:50-06:00", "2026-11-01T01:10-07:00", "2026-11-01T01:20-07:00", "01:10"),
    ],
)
def test_a_limit_holds_from_when_it_was_adopted(
    job: Any, tmp_path: Any, before: str, adopted: str, after: str, shown: str
) -> None:
    """A quarter of an inch is inside before it, and outside after it."""
    at(job, before).ok(CHECK.format(n=3))
    at(job, adopted).ok(ADOPT)
    at(job, after).ok(CHECK.format(n=5))
    assert outside(job) == {"B1": False, "B2": True}
    told = adopted_at(job, tmp_path)
    assert f"{adopted[:10]} {shown} maker sheet 12 Ana Ruiz" in told


def test_a_check_typed_late_is_judged_by_the_limits_of_when_it_was_seen(job: Any) -> None:
    """Typed after the change of the clocks, seen before the limit and after it."""
    at(job, "2026-03-08T01:30-07:00").ok(ADOPT)
    at(job, "2026-03-08T04:00-06:00")
    job.ok(CHECK.format(n=3) + " --at 01:29")
    job.ok(CHECK.format(n=5) + " --at 03:05")
    assert outside(job) == {"B1": False, "B2": True}
