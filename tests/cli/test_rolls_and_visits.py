"""Rolls and the laps they went into, the substrate before welding, what visitors want done."""

from __future__ import annotations

from typing import Any

import pytest

SET = "--nozzle 932 --speed 5.5"


def test_a_lot_in_doubt_names_the_laps_it_went_into(go_ahead: Any) -> None:
    """However it is spelled; laps of other lots are not named; a run of it is told so."""
    go_ahead.ok('roll add L-2207 --storage "upright, covered" --conditioned "24 h at 60F"')
    go_ahead.day(f"""
        07:10 seam start A1 {SET} --roll-lot L-2207
        07:17 seam finish A1 --to end
        07:20 seam start A2 {SET} --roll-lot L-2208
        07:27 seam finish A2 --to end
        07:30 seam start A3 {SET} --roll-lot "l-2207"
        07:37 seam finish A3 --to 20
    """)
    said = " ".join(go_ahead.ok('roll doubt L-2207 --why "granules come off"').out.split())
    assert "Lot L-2207 went into A1, A3." in said
    page = " ".join(go_ahead.ok("roll list").out.split())
    assert "Lot L-2207; kept: upright, covered; conditioned: 24 h at 60F" in page
    assert "IN DOUBT: granules come off" in page
    assert "- A3, 0–20 ft" in page
    lots = {lot["lot"]: lot for lot in go_ahead.ok("roll list --json").json}
    assert [lap[0] for lap in lots["L-2207"]["laps"]] == ["A1", "A3"]
    assert [lap[0] for lap in lots["L-2208"]["laps"]] == ["A2"]
    said = " ".join(go_ahead.ok(f"seam start A3 --from 20 {SET} --roll-lot L-2207").out.split())
    assert "Lot L-2207 is in doubt: granules come off." in said
    assert "No run names lot Q1" in go_ahead.ok("roll doubt Q1 --why test").out
    go_ahead.ok("verify")


def test_a_substrate_that_is_not_dry_is_told_before_a_lap_is_welded_on_it(go_ahead: Any) -> None:
    """Until it was looked at again; another area is not told."""
    roll = "--roll-width 39.4in --roll-length 33ft"
    go_ahead.ok(f'roof lay "C 60ft x 20ft; D 20ft x 20ft at 60ft,0" {roll}')
    said = " ".join(go_ahead.ok("substrate C --dry no --primed yes --clean no").out.split())
    assert "The substrate of C is not dry, not clean" in said
    assert "substrate of C" in " ".join(go_ahead.ok(f"seam start C1 {SET}").out.split())
    assert "substrate" not in go_ahead.ok(f"seam start D1 {SET}").out
    go_ahead.clock.set("07:30")
    go_ahead.ok("substrate C --dry yes --primed yes --clean yes")
    assert "substrate" not in go_ahead.ok(f"seam start C2 {SET}").out
    go_ahead.ok("verify")


def test_what_a_visitor_asked_for_is_open_until_settled(welded_whole: Any) -> None:
    """On the list and the evening page, as of each day; signed off by name."""
    book = welded_whole
    book.ok('punch add "A3 20ft" "mend the fishmouth" --visitor "owner\'s representative"')
    book.ok('punch add "area A" "sweep" --visitor "roof consultant"')
    assert book.ok("evening --json").json["punch_open"] == ["V1", "V2"]
    page = " ".join(book.ok("evening").out.split())
    assert "V1 OPEN, A3 20ft: mend the fishmouth; owner's representative" in page
    book.clock.set("08:00", days=1)
    book.ok('punch settle V1 "cut, patched, probed" --by BO')
    lines = book.ok("punch list").out.splitlines()
    assert lines[0].startswith("V2 OPEN")
    assert "settled: cut, patched, probed, Ben Okoro" in " ".join(book.ok("punch list").out.split())
    assert book.ok("evening --json").json["punch_open"] == ["V2"]
    assert book.ok("evening --day 2026-06-01 --json").json["punch_open"] == ["V1", "V2"]
    book.ok("verify")


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("punch settle R1 done", "V1"),
        ("punch settle V9 done", "V9"),
        ('punch add "A3" "sweep"', "--visitor"),
        ("roll doubt L-1", "--why"),
        ("substrate A --dry perhaps", "not one of"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(welded_whole: Any, line: str, why: str) -> None:
    assert why in welded_whole.refused(line)
