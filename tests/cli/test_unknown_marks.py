"""A dial of bare numbers, worked beyond the marks that somebody timed.

Nobody knows a speed that was not timed; that nobody is sure then is this program's rule.
"""

from __future__ import annotations

import pytest

from tests.conftest import Weldcal

READ = "--nozzle 932 --bubbling none --ambient 61F --sheet-temp 74F"
THIN = f"{READ} --bleed 0,0,0"


@pytest.fixture
def marks(job: Weldcal) -> Weldcal:
    """Four good mornings of red at mark 5; only marks 5 and 10 were timed. 07:00, sure."""
    job.ok('machine add "red: marks 1-12 step 0.5"')
    job.ok("machine measure red --mark 5 --distance 20ft --time 218s")
    job.ok("machine measure red --mark 10 --distance 20ft --time 109s")
    for day in range(4):
        job.day(f"""
            06:30 strip record --machine red --speed 5 --bleed 1/4,1/4,1/4 {READ}
            06:42 strip pull S{day + 1} good --parted compound
        """)
        if day < 3:
            job.day("+")
    job.clock.set("06:50")
    assert job.ok("dial --machine red --json").json["sure"]
    return job


@pytest.mark.parametrize(
    "lines",
    [
        f"06:51 strip record --machine red --speed 4 {THIN}",
        "06:51 seam start A1 --machine red --nozzle 932 --speed 4\n06:52 bleed A1 3 0",
    ],
    ids=["strip", "check"],
)
def test_what_shows_nothing_for_want_of_its_speed_takes_the_certainty(
    marks: Weldcal, lines: str
) -> None:
    """A strip or check that failed slower than any mark timed: nobody is sure of mark 5 then."""
    marks.day(lines)
    document = marks.ok("dial --machine red --json").json
    assert (document["sure"], document["doubts"][0]) == (False, "marks_unknown")
    said = " ".join(marks.ok("dial --machine red").out.split())
    assert "NOT SURE: the speed behind a mark welded at today is not known" in said
    assert "weldcal machine measure" in said
    assert said.split("Until")[0] in " ".join(marks.ok("board --once --machine red").out.split())


def test_once_the_mark_is_timed_the_strips_speak(marks: Weldcal) -> None:
    """No bleed-out at half the speed: something broke."""
    marks.day(f"""
        06:51 strip record --machine red --speed 4 {THIN}
        06:53 strip record --machine red --speed 4 {THIN}
        06:55 machine measure red --mark 4 --distance 20ft --time 273s
    """)
    document = marks.ok("dial --machine red --json").json
    assert document["stop"]
    assert document["question"]["unknown_marks"] == 0


def test_another_machines_marks_matter_to_nobody_else(marks: Weldcal) -> None:
    """Nor those of another day."""
    marks.ok(f"strip record --machine red --speed 4 {THIN}")
    assert "marks_unknown" not in marks.ok("dial --machine blue --json").json["doubts"]
    marks.day("+")
    assert "marks_unknown" not in marks.ok("dial --machine red --json").json["doubts"]
