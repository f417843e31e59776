"""What is in doubt by seam: as the trace says it, and where the strip of the go-ahead fell short.

That what was welded on a strip that fell short is in doubt is this program's rule.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.cli.doubts import SET, places, said


@pytest.fixture
def welded(welded_whole: Any) -> Any:
    """A1, A2, A3 welded by blue on S1."""
    return welded_whole


def in_trace(book: Any, seam: str) -> list[tuple[str, list[Any]]]:
    """What the trace of a seam says is in doubt on it: by failure, its stretches."""
    found = book.ok(f"trace {seam} --json").json["in_doubt"]
    return [(one["failure"], one["stretches_m"]) for one in found]


def of_doubt(book: Any, seam: str) -> list[tuple[str, list[Any]]]:
    """The same by `doubt`."""
    return [
        (one["failure"], here)
        for one in book.ok("doubt --json").json["doubts"]
        if (
            here := [
                [place["start_m"], place["end_m"]]
                for place in one["places"]
                if place["seam"] == seam
            ]
        )
    ]


def test_the_trace_says_what_doubt_says_of_its_seam(welded: Any) -> None:
    """A3 was never looked at; a pull of A1 that parted at the lap puts all three in doubt."""
    assert in_trace(welded, "A3") == []
    assert "In doubt" not in said(welded, "trace A3")
    welded.ok("peel A1 10 --parted 'at the lap' --by BO")
    welded.ok("bleed A2 3 1/32")
    welded.ok("finding A3 void 5 --by BO")
    for seam in ("A1", "A2", "A3"):
        assert in_trace(welded, seam) == of_doubt(welded, seam) != []
    assert "In doubt: 0–33 ft, after P1, B1, F2; what clears it: weldcal doubt" in said(
        welded, "trace A3"
    )
    welded.ok("undo P1 --yes --by BO")
    for seam in ("A1", "A2", "A3"):
        assert in_trace(welded, seam) == of_doubt(welded, seam)


def test_a_seam_welded_twice_takes_its_doubt_from_the_line_that_welded_it_last(
    welded: Any,
) -> None:
    """A1 again on S2: what is found there now is no doubt of S1's laps."""
    welded.day("""
        10:00 strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bubbling none
        10:11 strip pull S2 good --parted compound
        10:12 seam start A1 --nozzle 932 --speed 5.5
        10:20 seam finish A1 --to 20
        10:21 bleed A1 10 1/32
        10:22 bleed A1 30 1/32
    """)
    for seam in ("A1", "A2", "A3"):
        assert in_trace(welded, seam) == of_doubt(welded, seam)
    assert {name for name, _where in in_trace(welded, "A2")} == {"B2"}


def test_a_sample_of_the_go_aheads_strip_that_parted_cold_doubts_all_welded_on_it(
    welded: Any,
) -> None:
    """As the trace and the roof say of each lap, until a good pull on one of them."""
    welded.ok('peel S1 --parted "at the lap" --by BO')
    assert places(welded, "P1") == [("A1", 0, 33), ("A2", 0, 33), ("A3", 0, 33)]
    assert "P1 (pull) failed: 99 ft welded by blue on S1 in doubt, from the go-ahead" in said(
        welded
    )
    assert "P1" in welded.ok("trace A2 --json").out
    assert "P1" in welded.ok("evening").out
    welded.ok("peel A2 10 --parted compound --by BO")
    assert places(welded, "P1") == [("A1", 0, 33), ("A2", 0, 10)]
    welded.ok('undo P1 --why "another strip" --yes')
    assert "Nothing is in doubt" in said(welded)


def test_a_go_ahead_corrected_until_it_falls_short_doubts_all_welded_on_it(welded: Any) -> None:
    """The strip itself is named, with what became of it."""
    welded.ok('amend S1 bond cold --why "it tore clean"')
    assert "A1" in {place[0] for place in places(welded, "S1")}
    assert "S1 (go-ahead fell short since) puts 99 ft welded by blue on S1 in doubt" in said(welded)
    assert "cut a sample" in said(welded)
    welded.ok("bleed A2 10 1/4")
    assert places(welded, "S1")[-1] == ("A3", 0, 33)


def test_a_strip_corrected_in_its_bleed_out_is_answered_by_the_bleed_out_of_the_laps(
    welded: Any,
) -> None:
    """Nothing is cut for what the edge shows."""
    welded.ok('amend S1 bubbling heavy --why "the other note"')
    assert "look along the edge" in said(welded)
    assert "cut a sample" not in said(welded)
    welded.ok("bleed A2 10 1/4 --bubbling none")
    assert places(welded, "S1") == [("A1", 0, 33), ("A2", 0, 10)]


def test_a_lap_welded_twice_is_in_doubt_once(go_ahead: Any) -> None:
    """On one go-ahead: 33 ft of lap, not 66 ft of welding."""
    go_ahead.day(f"""
        07:20 seam start A1 {SET}
        07:27 seam finish A1 --to 33
        07:30 seam start A1 {SET}
        07:37 seam finish A1 --to 33
        08:00 bleed A1 10 1/32
    """)
    assert places(go_ahead, "B1") == [("A1", 0, 33)]
    assert "33 ft welded by blue on S1 in doubt" in said(go_ahead)


def test_a_lap_welded_again_and_checked_leaves_the_doubt(go_ahead: Any) -> None:
    """What `doubt` says to look at can be looked at, and clears it; the rest stays in doubt."""
    go_ahead.day(f"""
        07:20 seam start A1 {SET}
        07:21 bleed A1 5 1/4
        07:23 bleed A1 20 1/16
        07:24 bleed A1 30 1/4
        07:26 seam finish A1 --to 33
        07:30 seam start A1 --from 10 --nozzle 932 --speed 5
        07:34 seam finish A1 --to 25
    """)
    assert places(go_ahead, "B2") == [("A1", 5, 30)]
    assert "read the bleed-out of A1 5–20 ft" in said(go_ahead)
    go_ahead.ok("bleed A1 12 1/4")
    assert places(go_ahead, "B2") == [("A1", 5, 10), ("A1", 25, 30)]
    page = said(go_ahead)
    assert "read the bleed-out of A1 5–10 ft" in page
    assert "A1 10" not in page.replace("A1 5–10", "")
    assert "5–10 ft, 25–30 ft" in said(go_ahead, "trace A1")
    assert "0 cuts in all" in said(go_ahead, "sample cuts")


def test_all_of_a_doubt_welded_again_and_checked_is_no_doubt(go_ahead: Any) -> None:
    """On another strip: a failed check whose lap is gone has nothing left to clear."""
    go_ahead.day(f"""
        07:20 seam start A1 {SET}
        07:23 bleed A1 20 1/16
        07:26 seam finish A1 --to 33
        07:30 strip record --nozzle 932 --speed 5 --bleed 1/4,1/4,1/4 --bubbling none
        07:45 strip pull S2 good --parted compound
        07:50 seam start A1 --nozzle 932 --speed 5
        07:58 seam finish A1 --to 33
    """)
    assert places(go_ahead, "B1") == [("A1", 0, 33)]
    go_ahead.ok("bleed A1 12 1/16")
    assert {d["failure"] for d in go_ahead.ok("doubt --json").json["doubts"]} == {"B1", "B2"}
    go_ahead.ok("bleed A1 25 1/4")
    assert {d["failure"] for d in go_ahead.ok("doubt --json").json["doubts"]} == {"B2"}
    assert places(go_ahead, "B2") == [("A1", 0, 25)]
