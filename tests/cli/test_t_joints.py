"""A T-joint is welded once both laps that meet there are, and probed by what came after.

Area C, 60 ft by 20 ft, in rolls of 33 ft: end lap C1.1 meets side lap C1 at 32.5 ft (C1.1t), and
C2.1 begins on it (C2.1u). That a joint is whole only with both laps is common practice, no source.
"""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from pathlib import Path

SIDE = "08:00 seam start C1 --nozzle 932 --speed 5.5\n08:11 seam finish C1 --to 60"
END = "11:00 seam start C1.1 --by-hand\n11:04 seam finish C1.1 --to 39.4in"
WALK = "10:00 probe C1 0-60 --by BO"
NOT_STARTED, UNPROBED, PROBED = "not started", "unprobed", "probed with no open finding"
JOINT = "C1.1t"


def state(book: Any, joint: str = JOINT) -> str:
    """Its state, the same on the roof and on its trace, in words and as JSON."""
    said: str = book.seam(joint)["state"]
    assert book.ok(f"trace {joint} --json").json["state"] == said
    assert f"Seam {joint}, –: {said}" in book.ok(f"trace {joint}").out
    return said


def before_cover(book: Any) -> list[str]:
    """What is listed before C1 is hidden, and the laps that meet it."""
    return [seam["name"] for seam in book.ok("cover C1 --look --json").json]


def first_before_cover(book: Any, joint: str = JOINT) -> list[str]:
    """What must be done at a joint before the stretch it lies on is hidden."""
    first = book.ok("cover C --stretch 30-40 --look --json").json
    return [one["code"] for one in first if one["seam"] == joint]


def tomorrow(book: Any) -> list[str]:
    """What is to be probed first tomorrow."""
    probe: list[str] = book.ok("evening --json").json["first_tomorrow"]["probe"]
    return probe


def test_a_walk_before_its_end_lap_is_welded_says_nothing_of_a_joint(laid: Any) -> None:
    """Nor once that lap is welded; a walk after does, and a lap welded again undoes that."""
    laid.day(f"{SIDE}\n{WALK}")
    assert state(laid) == NOT_STARTED
    assert JOINT in before_cover(laid)
    assert first_before_cover(laid) == ["weld"]
    laid.day(END)
    assert state(laid) == UNPROBED
    assert JOINT in before_cover(laid)
    assert first_before_cover(laid) == ["probe"]
    assert tomorrow(laid) == ["C1.1", JOINT]
    laid.day("12:00 probe C1 30-35 --by BO\n12:05 probe C1.1 0-39.4in --by BO")
    assert state(laid) == PROBED
    assert JOINT not in before_cover(laid)
    assert tomorrow(laid) == []
    laid.day("13:00 seam start C1.1 --by-hand --from 2\n13:04 seam finish C1.1 --to 39.4in")
    assert state(laid) == UNPROBED


def test_a_walk_on_a_joint_not_cold_yet_says_nothing(laid: Any) -> None:
    """Ten minutes from its newest weld, be it the end lap's."""
    laid.day(f"{SIDE}\n{END}\n11:10 probe C1 0-60 --by BO")
    assert state(laid) == UNPROBED
    laid.day("11:20 probe C1 0-60 --by BO")
    assert state(laid) == PROBED


def test_an_end_lap_that_stops_short_of_a_joint_leaves_it_open(laid: Any) -> None:
    """C1.1 reaches the side lap at its far end; C2.1 begins on it."""
    laid.day(f"""
        {SIDE}
        09:00 seam start C1.1 --by-hand
        09:02 seam finish C1.1 --to 2
        09:10 seam start C2.1 --by-hand
        09:12 seam finish C2.1 --to 2
        {WALK}
    """)
    assert state(laid, "C1.1t") == NOT_STARTED
    assert state(laid, "C2.1u") == PROBED
    assert state(laid, "C2.1t") == NOT_STARTED


def test_a_walk_on_the_joint_itself_counts_too(laid: Any) -> None:
    """After both welds; before, it says nothing."""
    laid.day(f"{SIDE}\n{WALK}\n10:30 probe {JOINT} 0-0 --by BO\n{END}")
    assert state(laid) == UNPROBED
    laid.day(f"12:00 probe {JOINT} 0-0 --by BO")
    assert state(laid) == PROBED


def test_where_the_end_lap_is_not_listed_a_joint_needs_a_walk_of_its_own(laid: Any) -> None:
    """And the roof and the trace say why."""
    laid.day(f"{SIDE}\n10:00 undo C1.1 --yes --why 'laid otherwise'\n10:05 probe C1 0-60 --by BO")
    assert state(laid) == UNPROBED
    assert "end lap not listed" in laid.seam(JOINT)["flags"]
    assert "end lap not listed" in laid.ok(f"trace {JOINT}").out
    assert "end lap not listed" not in laid.seam("C2.1u")["flags"]
    laid.day(f"11:00 probe {JOINT} 0-0 --by BO")
    assert state(laid) == PROBED


def test_the_route_and_the_questions_lead_to_a_joint_left_once_it_is_cold(laid: Any) -> None:
    """Its side lap needs no walk any more."""
    laid.day(f"{SIDE}\n{WALK}\n{END}")
    route = laid.ok("route --json").json
    assert (route["legs"], [name for name, _at in route["warm"]]) == ([], ["C1.1"])
    laid.day("11:30 probe C1.1 0-39.4in --by BO")
    assert [leg["seam"] for leg in laid.ok("route --json").json["legs"]] == [JOINT]
    assert f"probe {JOINT} 0-0" in " ".join(laid.ok("day --for inspector").out.split())
    laid.ok(f"probe {JOINT} 0-0 --by BO")
    assert JOINT not in laid.ok("day --for inspector").out
    assert laid.ok("route --json").json["legs"] == []


@pytest.mark.parametrize(("day", "said"), [("", UNPROBED), (f"12:00 {WALK[6:]}", PROBED)])
def test_the_dossier_counts_a_joint_as_the_roof_does(
    laid: Any, tmp_path: Path, day: str, said: str
) -> None:
    """In its table of seams and in its totals."""
    laid.day(f"{SIDE}\n{WALK}\n{END}\n{day}")
    laid.clock.set("13:00")
    laid.ok(f"dossier {tmp_path / 'd'} --only html")
    with (tmp_path / "d-seams.csv").open(encoding="utf-8") as file:
        rows = {row["name"]: row["state"] for row in csv.DictReader(file)}
    assert rows[JOINT] == state(laid) == said
    page = (tmp_path / "d.html").read_text(encoding="utf-8")
    assert f"{int(said == PROBED)} of 21 T-joints" in page
