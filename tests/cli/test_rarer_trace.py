"""What is seldom said of a lap, as `trace` tells it."""

from __future__ import annotations

from typing import Any


def test_the_rarer_entries_of_a_lap_are_told_in_full(welded_whole: Any) -> None:
    """Taken back and put back, hidden in part, opened, leaked and mended, granules embedded."""
    welded_whole.day("""
        10:00 width A1 10 4in
        10:05 finding A1 void 5-6 --how seen
        10:06 undo F1 --yes --why "it was chalk"
        10:07 undo F1 --back --yes --why "no chalk"
        11:00 cover A1 --stretch 3-9
        11:05 open-up A1
        12:00 leak 3ft 3ft --where inside
        12:05 leak found K1 "open T-joint" --place "A1 3ft"
        12:06 leak mended K1 "cut back" --place "A1 3ft" --by BO
        12:10 roof embed A1
        12:11 roof embed A2 --how "hot granules, rolled"
    """)
    one = " ".join(welded_whole.ok("trace A1").out.split())
    for said in (
        "10:00 T1 lap width at 10 ft: 4 in; Ana Ruiz",
        "10:05 F1 finding: void from 5 ft to 6 ft, seen; Ana Ruiz",
        "10:06 F1 taken back: it was chalk; Ana Ruiz",
        "10:07 F1 put back: no chalk; Ana Ruiz",
        "11:00 C1 hidden by the next ply, 3–9 ft; Ana Ruiz",
        "11:05 O1 opened up; Ana Ruiz",
        "12:05 K1 leak found: open T-joint (A1 3ft); Ana Ruiz",
        "12:06 K1 leak mended: cut back (A1 3ft); Ben Okoro",
        "12:10 granules embedded; Ana Ruiz",
    ):
        assert said in one, one
    other = " ".join(welded_whole.ok("trace A2").out.split())
    assert "12:11 granules embedded: hot granules, rolled; Ana Ruiz" in other
    welded_whole.ok("cover A2")
    assert "hidden by the next ply; Ana Ruiz" in " ".join(welded_whole.ok("trace A2").out.split())


def test_a_warning_of_two_stops_is_told_once(go_ahead: Any) -> None:
    """A late entry after two long stops: the page of the seam and the dossier say it once each."""
    go_ahead.ok("seam add X1-X3 --length 33ft")
    go_ahead.day("""
        07:30 seam start X1 --nozzle 932 --speed 5.5
        07:40 seam finish X1 --to 33
        10:00 seam start X2 --nozzle 932 --speed 5.5
        10:10 seam finish X2 --to 33
        13:00 seam start X3 --nozzle 932 --speed 5.5
    """)
    one = " ".join(go_ahead.ok("trace X3").out.split())
    assert one.count("welded after a longer stop than the limits allow") == 1, one
