"""An old reading of the sheet, and what is read beside it later.

That noon's air says nothing of the morning's sun is plain; how a reading ages: `MODEL.md`.
"""

from __future__ import annotations

import pytest

from tests.conftest import Weldcal

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bubbling none"


@pytest.fixture
def by_noon(job: Weldcal) -> Weldcal:
    """Three good mornings; on the fourth the sheet was read at 07:05, and it is 11:40."""
    for day in range(4):
        job.day(f"""
            07:00 conditions --ambient 61F --sheet-temp 74F
            07:05 {STRIP} --ambient 61F --sheet-temp 74F
            07:20 strip pull S{day + 1} good --parted compound
        """)
        job.clock.moment = job.clock.moment.replace(hour=7, minute=20)
        if day < 3:
            job.day("+")
    job.clock.set("11:40")
    return job


@pytest.mark.parametrize("air", ["50F", "70F", "80F", "90F"])
def test_air_read_later_makes_an_old_reading_of_the_sheet_no_younger(
    by_noon: Weldcal, air: str
) -> None:
    """Beside the morning's sheet belongs the morning's air: noon's tells of no sun that was."""
    before = by_noon.ok("dial --json").json
    by_noon.ok(f"conditions --ambient {air} --wind 12mph")
    after = by_noon.ok("dial --json").json
    assert after["sheet_unsure_k"] == pytest.approx(before["sheet_unsure_k"])
    assert not before["sure"]
    assert not after["sure"]


def test_a_strip_on_a_sheet_read_long_before_is_taken_with_the_air_of_then(
    by_noon: Weldcal,
) -> None:
    """Once the sheet is read, what the old strip says is the same whatever air was typed with it."""
    by_noon.ok(STRIP + " --ambient 80F")
    by_noon.clock.set("11:55")
    by_noon.ok("strip pull S5 good --parted compound")
    document = by_noon.ok("dial --json").json
    assert document["question"]["beside"]["air_c"] == pytest.approx(16.11, abs=0.01)
    assert document["sheet_unsure_k"] > 6.4  # 3 K for each root hour of 4.6, and the sun beside


@pytest.mark.parametrize("typed", ["--ambient 80F", "--sheet-temp 110F", "--wind 15mph"])
def test_a_reading_typed_with_the_question_says_what_it_says_recorded(
    by_noon: Weldcal, typed: str
) -> None:
    """`dial --ambient 80F`, and `conditions --ambient 80F` before `dial`, ask the same."""
    given = by_noon.ok(f"dial {typed}").out
    by_noon.ok(f"conditions {typed}")
    assert by_noon.ok("dial").out == given
    shown = by_noon.ok("board --once").out
    for line in given.splitlines()[:2]:
        assert line in shown


def test_now_says_until_when_as_dial_does(by_noon: Weldcal) -> None:
    """The second line of both, a moment apart."""
    assert by_noon.ok("now 90F").out.splitlines()[1] == by_noon.ok("dial").out.splitlines()[1]


def test_air_read_later_makes_a_go_aheads_reading_no_younger(by_noon: Weldcal) -> None:
    """How long the morning's reading holds under the sun does not hang on noon's air."""
    by_noon.clock.set("08:30")
    by_noon.ok("dial")
    before = by_noon.ok("go-ahead").out
    assert "by the sun and the hour" in " ".join(before.split())
    by_noon.ok("conditions --ambient 69F")
    assert by_noon.ok("go-ahead").out == before


def test_a_late_strip_still_carries_over_what_was_read_before_it(job: Weldcal) -> None:
    """However much was read since: 45 readings later, the one before the strip counts."""
    job.ok("conditions --ambient 61F --sheet-temp 74F --at 07:00")
    for minute in range(45):
        job.clock.set(f"12:{minute:02}")
        job.ok("conditions --ambient 80F --sheet-temp 115F")
    job.ok(STRIP + " --at 07:30")
    (row,) = job.query("SELECT ambient_c, sheet_c FROM strips")
    assert tuple(row) == pytest.approx((16.11, 23.33), abs=0.01)
