"""The card's temperatures: round numbers of the job's own scale, from one end to the other."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        ("--from 5C --to 15C", [5.0, 7.5, 10.0, 12.5, 15.0]),
        ("--from 8C --to 14C", [7.5, 10.0, 12.5, 15.0]),
        ("--from -6C --to 0C", [-5.0, -2.5, 0.0]),
        ("--from 10C --to 10C", [10.0]),
    ],
)
def test_a_metric_card_goes_by_two_and_a_half_degrees(
    weldcal: Any, ends: str, told: list[float]
) -> None:
    """The ends too are brought to a multiple of 2.5 °C; the nearest."""
    weldcal.ok(
        'job new "Roof" --units si --zone Europe/Paris --by "Ana Ruiz" --sheet "base: SBS base" '
        '--machine "blue: m/min 1-6 step 0.1" --person "Ana Ruiz: AR, operator"'
    )
    lines = weldcal.ok(f"dial --card {ends} --nozzle 500C --json").json
    assert [line["temperature_c"] for line in lines] == pytest.approx(told)


def test_a_card_in_fahrenheit_goes_by_five(job: Any) -> None:
    """43 to 62 °F: 45, 50, 55 and 60."""
    lines = job.ok("dial --card --from 43F --to 62F --nozzle 932 --json").json
    assert [line["temperature_c"] * 9 / 5 + 32 for line in lines] == pytest.approx([45, 50, 55, 60])
