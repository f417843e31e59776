"""Lap width and bonded width as a tape reads them, against the job's limits.

4 in for side laps and 6 in for end laps: common practice, no source. Peel loads depend on how
warm the sample is and how fast it is pulled, so both are kept.
"""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.parametrize(
    ("line", "short"),
    [
        ("width A1 14 4in --bonded 3in", []),
        ("width A1 14 3.5in", ["narrow_lap"]),
        ("width A1 14 4in --bonded 1in", ["narrow_bond"]),
        ("width E1 2 4in", ["narrow_lap"]),
        ("width E1 2 6in --bonded 1in", ["narrow_bond"]),
    ],
)
def test_a_width_below_its_limit_is_told(job: Any, line: str, short: list[str]) -> None:
    """An end lap has a limit of its own."""
    job.ok("seam add E1 --kind 'end lap' --length 3ft")
    done = job.ok(f"{line} --json").json
    assert [n["shortfall"] for n in done["notes"] if "shortfall" in n] == short


def test_a_narrow_lap_is_flagged_beside_its_seam_and_traced(job: Any) -> None:
    """On the roof, in the trace and in the dossier's facts alike."""
    job.ok("width A1 14 3.5in --bonded 3in")
    assert "narrow lap" in job.seam("A1")["flags"]
    shown = " ".join(job.ok("trace A1").out.split())
    assert "lap width at 14 ft: 3 1/2 in, bonded 3 in" in shown
    assert "[narrow lap]" in shown


def test_a_width_is_corrected_and_taken_back(job: Any) -> None:
    """As every record is."""
    job.ok("width A1 14 3.5in")
    job.ok("amend T1 overlap 4.5in --why misread --by AR")
    assert "narrow lap" not in job.seam("A1")["flags"]
    job.ok("undo T1 --why slip --yes --by AR")
    assert "T1" in " ".join(job.ok("trace A1").out.split())


def test_a_job_sets_its_own_least_width(job: Any) -> None:
    """The limits in force when it was read."""
    job.ok("limit set lap_least_side 3in --source 'sheet data, rev 4' --by AR")
    job.ok("width A1 14 3.5in")
    assert "narrow lap" not in job.seam("A1")["flags"]


def test_a_peel_sample_keeps_how_warm_and_how_fast(job: Any) -> None:
    """A load without them is told; the trace shows them."""
    told = job.ok("peel A1 12 --parted compound --line-load 200N/50mm").out
    assert "--sample-temp and --pull-rate" in " ".join(told.split())
    job.ok(
        "peel A1 20 --parted compound --line-load 200N/50mm --sample-temp 73F --pull-rate 4in/min"
    )
    shown = " ".join(job.ok("trace A1").out.split())
    assert "sample at 73 °F, pulled at 4 in/min" in shown


def test_without_a_least_load_none_was_judged(job: Any) -> None:
    """Nothing stands for a number nobody gave."""
    job.ok("peel A1 12 --parted compound --line-load 200N/50mm")
    assert "No load was judged" in job.ok("sample loads").out


def test_a_sheets_least_load_comes_from_its_data_sheet(weldcal: Any) -> None:
    """With the document it stands in."""
    weldcal.ok(
        'job new "Roof" --units si --zone Europe/Paris --by "Ana Ruiz" '
        '--machine "blue: m/min 1-6 step 0.1" --person "Ana Ruiz: AR, operator"'
    )
    weldcal.ok(
        'sheet add "base: SBS base" --peel-least 100N/50mm --peel-source "data sheet, rev 4" --by AR'
    )
    weldcal.ok("peel A1 3 --parted compound --line-load 80N/50mm --by AR")
    weldcal.ok("peel A1 9 --parted compound --line-load 300N/50mm --by AR")
    shown = " ".join(weldcal.ok("sample loads").out.split())
    assert "Against 100 N/50 mm: 1 below" in shown
    assert "The least load is from: data sheet, rev 4." in shown
