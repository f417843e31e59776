"""Likely slips are asked back: kept only once they are said again, and flagged then.

What is likely is the dial's range, the last strip's speed and what weather can be (site
settings, no source; the wind is Beaufort 10, World Meteorological Organization, from memory).
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import STRIP


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (STRIP.replace("5.5", "55"), "55 is off blue's dial, 1 to 20. 5.5?"),
        (f"{STRIP} --wind 120mph", "Wind 120 mph is a storm."),
        (f"{STRIP} --ambient 80F --sheet-temp 4F", "A sheet at 4 °F hardly can be."),
        ("conditions --wind 120mph", "Wind 120 mph is a storm."),
        ("now 230F", "A sheet at 230 °F hardly can be."),
        ("check --ambient 80F --sheet-temp 4F", "A sheet at 4 °F hardly can be."),
        ("dial --wind 120mph", "Wind 120 mph is a storm."),
        ("seam start A1 --nozzle 932 --speed 55", "55 is off blue's dial, 1 to 20. 5.5?"),
        ("strip 55 1/4 1/4 1/4 none nozzle 932 --yes", "55 is off blue's dial, 1 to 20. 5.5?"),
    ],
)
def test_a_likely_slip_is_refused_where_nobody_is_asked(job: Any, line: str, said: str) -> None:
    """One line with what was likely meant, and how to keep it."""
    refused = " ".join(job.refused(line).split())
    assert said in refused
    assert "--as-typed" in refused


@pytest.mark.parametrize(
    ("line", "flag"),
    [
        (STRIP.replace("5.5", "55"), "off_dial"),
        ("seam start A1 --nozzle 932 --speed 55", "off_dial"),
        (f"{STRIP} --wind 120mph", "wind_hardly"),
    ],
)
def test_said_again_it_is_kept_and_flagged(job: Any, line: str, flag: str) -> None:
    """Nothing recorded is lost to a validator."""
    done = job.ok(f"{line} --as-typed --json")
    assert flag in {note["code"] for note in done.json["notes"]}


def test_a_speed_far_from_the_last_strips_is_asked_back(go_ahead: Any) -> None:
    """15 after 5.5 on a dial of 1 to 20; 9 after 5.5 is nobody's slip."""
    far = STRIP.replace("5.5", "15")
    assert "15 ft/min is far from 5.5 ft/min, of the strip before" in " ".join(
        go_ahead.refused(far).split()
    )
    kept = go_ahead.ok(f"{far} --as-typed --json --at 07:20").json["notes"]
    assert "far_from_last" in {note["code"] for note in kept}
    go_ahead.ok(STRIP.replace("5.5", "9") + " --at 07:10")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("amend S1 speed 55", "55 is off blue's dial, 1 to 20. 5.5?"),
        ("amend S1 wind 120mph", "Wind 120 mph is a storm."),
    ],
)
def test_a_slip_in_a_correction_is_asked_back_too(go_ahead: Any, line: str, said: str) -> None:
    """A correction is a door like any other; kept as typed, it is flagged."""
    whole = f'{line} --why "read again" --at 07:40'
    refused = " ".join(go_ahead.refused(whole).split())
    assert said in refused
    assert "--as-typed" in refused
    assert go_ahead.ok(f"{whole} --as-typed --json").json["notes"]


def test_a_likely_correction_asks_nothing(go_ahead: Any) -> None:
    """5 for 5.5, and a reason mistyped before, are nobody's slip."""
    assert go_ahead.ok('amend S1 speed 5 --why "misread" --json').json["notes"] == []
