"""After no bleed-out at all: nothing as fast is advised until as little heat showed some.

Less heat bleeds out no more: common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.conftest import Weldcal

READ = "--nozzle 932 --bubbling none --ambient 80F --sheet-temp 115F"
FT = 0.3048


@pytest.fixture
def known(job: Weldcal) -> Weldcal:
    """Three good noons at 7.5 ft/min; the fourth day, 13:00, before any strip."""
    for day in range(3):
        job.day(f"""
            12:00 strip record --speed 7.5 --bleed 1/4,1/4,1/4 {READ}
            12:12 strip pull S{day + 1} good --parted compound
            +
        """)
    job.clock.set("13:00")
    return job


@pytest.mark.parametrize(
    "seen",
    [
        f"13:00 strip record --speed 7 --bleed 0,0,0 {READ}",
        "13:00 seam start A1 --nozzle 932 --speed 7 --ambient 80F --sheet-temp 115F\n13:01 bleed A1 5 0",
    ],
    ids=["strip", "check"],
)
def test_a_setting_that_showed_none_is_advised_no_faster(known: Weldcal, seen: str) -> None:
    """Less heat bleeds out no more; the machine's day before was good at more speed."""
    assert known.ok("dial --ambient 80F --sheet-temp 115F --json").json["dial_mark"] >= 7
    known.day(seen)
    document = known.ok("dial --json").json
    assert document["stop"] or document["dial_mark"] < 7
    assert not document["sure"]
    if document["next_strip"]:
        assert document["next_strip"]["speed_m_per_min"] < 7 * FT - 1e-6


def test_a_strip_as_fast_that_bleeds_out_lifts_it(known: Weldcal) -> None:
    """What was wild is past."""
    known.day(f"""
        13:00 strip record --speed 7 --bleed 0,0,0 {READ}
        13:10 strip record --speed 7 --bleed 1/4,1/4,1/4 {READ}
        13:22 strip pull S5 good --parted compound
    """)
    assert known.ok("dial --json").json["dial_mark"] >= 7
