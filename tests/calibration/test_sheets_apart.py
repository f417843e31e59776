"""Speed is each sheet's own.

Oba, Hean & Björk, Materials and Structures 1996, doi 10.1007/BF02486200, ten SBS and APP sheets
(abstract only): the choice of welding speed should follow the sheet's thermal and flow properties.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from weldcal.calibration import Observation, Reach, SpeedQuestion, Window, fit

QUICK = Observation(
    day="2026-06-01",
    machine="M1",
    sheet="quick",
    lap="selvage",
    nozzle_c=500.0,
    speed_m_per_min=2.0,
    sheet_c=20.0,
    readings_mm=(6.35, 6.35, 4.7625),
    bubbling="none",
    bond="good",
)
SLOW = replace(QUICK, sheet="stores more heat", speed_m_per_min=1.3)
ASKED = SpeedQuestion(
    "2026-06-01", "M1", "quick", "selvage", nozzle_c=500.0, sheet_c=20.0, ambient_c=None
)


def test_a_sheet_that_stores_more_heat_is_advised_slower(window: Window, reach: Reach) -> None:
    """One machine, one morning, two sheets: each keeps to what its own strips showed."""
    known = fit([QUICK, QUICK, SLOW, SLOW], window)
    quick, slow = (
        known.advise(replace(ASKED, sheet=sheet), window, reach).forecast
        for sheet in ("quick", "stores more heat")
    )
    assert quick is not None and slow is not None
    assert slow.speed_m_per_min < 0.85 * quick.speed_m_per_min


def test_a_sheet_that_bubbles_at_a_heat_does_not_make_another_bubble(window: Window) -> None:
    """Same machine, same settings; and the same chances whichever of the two is listed first."""
    first, last = (_bubbling(names, window) for names in (("a", "b"), ("b", "a")))
    for bubbles, quiet in (first, last):
        assert bubbles > 2 * quiet
    assert first == pytest.approx(last, rel=0.05)


def _bubbling(names: tuple[str, str], window: Window) -> tuple[float, float]:
    """Chances of bubbling on the sheet that showed a trace, and on the other that never did."""
    strips = [
        replace(QUICK, sheet=sheet, bubbling=seen, speed_m_per_min=speed)
        for sheet, seen in zip(names, ("trace", "none"), strict=True)
        for speed in (1.8, 2.0, 2.2)
    ]
    known = fit(strips, window)
    one, other = (
        known.forecast(replace(ASKED, sheet=sheet), [2.0], 500.0, window)[0].chance_bubbling
        for sheet in names
    )
    return one, other
