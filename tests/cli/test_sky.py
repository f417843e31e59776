"""The sky as part of the recorded conditions: advice takes it as if it were typed with `dial`."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import STRIP, Weldcal

READ = "conditions --ambient 61F --sheet-temp 66F --wind 5mph"
TOLD = ("speed_m_per_min", "sheet_unsure_k", "later_today")


def said(book: Weldcal, more: str = "") -> dict[str, Any]:
    found = book.ok(f"dial --json {more}").json
    return {name: found[name] for name in TOLD}


@pytest.mark.parametrize("typed", ["clear", "sunny", "overcast"])
def test_a_noted_sky_counts_as_one_typed_with_dial(job: Weldcal, typed: str) -> None:
    """Two hours after the reading: the sheet is put where that sky would have it."""
    job.day(f"""
        07:00 {READ}
        07:05 {STRIP}
        09:00 dial
    """)
    unknown, asked = said(job), said(job, f"--sky {typed}")
    job.ok(f"conditions --sky {typed} --at 07:05")
    assert said(job) == asked
    assert said(job)["sheet_unsure_k"] < unknown["sheet_unsure_k"] or typed == "overcast"


def test_hours_later_a_noted_sky_says_nothing(job: Weldcal) -> None:
    """A morning's sky is not the afternoon's."""
    job.day(f"""
        07:00 {READ}
        07:05 {STRIP}
        10:30 dial
    """)
    unknown = said(job)
    job.ok("conditions --sky clear --at 07:00")
    assert said(job) == unknown


def test_a_sky_typed_with_dial_comes_first(job: Weldcal) -> None:
    """Who asks now sees it."""
    job.day(f"""
        07:00 {READ} --sky clear
        07:05 {STRIP}
        09:00 dial
    """)
    assert said(job, "--sky broken")["sheet_unsure_k"] > said(job)["sheet_unsure_k"]


def test_it_is_recorded_shown_and_corrected(job: Weldcal) -> None:
    """With a strip as with conditions, and what is no sky is refused in a line."""
    job.ok(f"{STRIP} --sky cloudy --bond good")
    job.ok("seam start A1 --nozzle 932 --speed 5.5")
    assert "sky overcast" in job.ok("trace A1").out
    job.ok('amend S1 sky broken --why "looked again"')
    assert "sky broken" in job.ok("trace A1").out
    assert "purple" in job.refused("conditions --sky purple")
    job.ok("verify")
