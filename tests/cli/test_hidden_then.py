"""What is typed of a lap while the next ply hides it: nobody can have seen it.

That what nobody can see shows nothing is plain; from when it counts again is this program's rule.
"""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def covered(go_ahead: Any) -> Any:
    """A1 welded with a failed check at 20 ft between two good ones; all of it hidden unprobed."""
    go_ahead.day("""
        07:20 seam start A1 --nozzle 932 --speed 5.5
        07:21 bleed A1 5 1/4
        07:23 bleed A1 20 0
        07:25 bleed A1 30 1/4
        07:27 seam finish A1 --to 33
        08:00 cover A1
        08:10 finding A1 void 12-13 --how seen --by BO
    """)
    go_ahead.clock.set("08:20")
    return go_ahead


LOOKS = ["bleed A1 19 1/4", "probe A1 0-33 --by BO", "probe A1 12-33 --by BO"]


@pytest.mark.parametrize("line", LOOKS)
def test_a_good_look_at_it_narrows_no_doubt(covered: Any, line: str) -> None:
    """Neither a bleed check nor a walk; and so too once it is opened up."""
    before = covered.ok("doubt --json").json
    covered.ok(line)
    assert covered.ok("doubt --json").json == before
    covered.clock.set("08:40")
    covered.ok("open-up A1")
    assert covered.ok("doubt --json").json == before


def test_a_bad_look_at_it_counts(covered: Any) -> None:
    """What makes a lap worse is never thrown away."""
    covered.ok("bleed A1 25 0")
    assert {d["failure"] for d in covered.ok("doubt --json").json["doubts"]} >= {"B2", "B4"}


def test_opened_up_it_is_as_unprobed_as_it_was(covered: Any) -> None:
    """A walk typed while it was hidden says nothing afterwards either; one made then does."""
    covered.ok("probe A1 0-33 --by BO")
    covered.clock.set("08:40")
    covered.ok("open-up A1")
    seam = covered.seam("A1")
    assert (seam["probed_m"], seam["state"]) == (0.0, "open findings")
    assert "A1" in covered.ok("cover A --look").out
    covered.clock.set("08:50")
    covered.ok("probe A1 0-33 --by BO")
    assert covered.seam("A1")["probed_m"] == pytest.approx(33 * 0.3048)


def test_the_trace_marks_a_walk_that_counts_for_nothing(covered: Any) -> None:
    """Made while all of it was hidden, or typed then; opened up, one made then still says nothing."""
    covered.ok("probe A1 0-33 --by BO")
    covered.ok("probe A1 0-33 --by BO --at 07:50")
    assert marked(covered) == ["entered after it was covered", "walked while it was covered"]
    covered.clock.set("08:40")
    covered.ok("open-up A1")
    covered.clock.set("08:50")
    covered.ok("probe A1 0-33 --by BO")
    assert marked(covered) == ["", "walked while it was covered", ""]
    page = " ".join(covered.ok("trace A1").out.split())
    assert page.count("walked while it was covered") == 1


def marked(book: Any) -> list[str]:
    """What the trace marks of each walk about covers, in order."""
    walks = [e for e in book.ok("trace A1 --json").json["events"] if e["what"] == "walk"]
    return [" ".join(m for m in walk["marks"] if "cover" in m) for walk in walks]


def test_it_is_no_probed_lap_to_the_rates(covered: Any) -> None:
    """As the roof has it, so `faults` and `history`: nothing was probed."""
    covered.ok("probe A1 0-33 --by BO")
    assert covered("faults").code == 2
    rates = covered.ok("history --json").json["faults"]
    assert sum(row["probed_m"] for row in rates) == 0.0


def test_a_good_check_of_it_ends_no_look(covered: Any) -> None:
    """The look that a check outside the limits called for waits for one that somebody saw."""
    covered.day("""
        08:21 seam start A2 --nozzle 932 --speed 5.5
        08:22 bleed A2 5 0
    """)
    covered.clock.set("08:25")
    covered.ok("bleed A1 4 1/4")
    held = [t["code"] for t in covered("go-ahead --json").json["triggers"] if not t["until_s"]]
    assert "check_outside" in held


def test_the_days_pages_call_it_probed_nowhere(covered: Any, tmp_path: Any) -> None:
    """The evening, its JSON, and the sheet that is signed say what the roof says."""
    covered.ok("probe A1 0-33 --by BO")
    said = " ".join(covered.ok("evening").out.split())
    assert "probed: 0 ft in 1 walk; 33 ft walked warm or hidden, not counted" in said
    assert "welded, not probed: 33 ft (100 % of 33 ft)" in said
    assert covered.ok("evening --json").json["probed_m"] == 0.0
    covered.ok(f"form daily --html {tmp_path}/d.html --pdf {tmp_path}/d.pdf")
    page = (tmp_path / "d.html").read_text()
    assert "33 ft, Ben Okoro" not in page
    assert "33 ft, Ana Ruiz" in page


def test_of_a_walk_partly_over_warm_lap_the_rest_counts_everywhere(go_ahead: Any) -> None:
    """The roof, the evening and the doubts: 0 to 25 ft was cold, 25 to 33 ft was not."""
    go_ahead.day("""
        07:20 seam start A1 --nozzle 932 --speed 5.5
        07:26 seam finish A1 --to 25
        07:45 seam start A1 --from 25 --nozzle 932 --speed 5.5
        07:48 seam finish A1 --to 33
        07:50 probe A1 0-33 --void 10+2in --by BO
    """)
    seam = go_ahead.seam("A1")
    assert seam["probed_m"] == pytest.approx(25 * 0.3048)
    assert go_ahead.ok("evening --json").json["probed_m"] == pytest.approx(25 * 0.3048)
    (doubt,) = go_ahead.ok("doubt --json").json["doubts"]
    assert doubt["before"] is not None
    assert doubt["length_m"] < 0.1
