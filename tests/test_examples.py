"""What is shown to type: the commands' own examples on a job in metres."""

from __future__ import annotations

import pytest

from weldcal.records.examples import in_metres


@pytest.mark.parametrize(
    ("us", "metric"),
    [
        # 5.5 ft/min is 1.68 m/min, 932 °F is 500 °C: the speed and the nozzle of every example.
        ("weldcal strip 5.5 1/4 3/16 none", "weldcal strip 1.7 6mm 5mm none"),
        ("--nozzle 932", "--nozzle 500"),
        ("932F", "500C"),
        ("61F", "16C"),  # (61 - 32)·5/9 = 16.1
        ("14F", "-10C"),
        ("33ft", "10.1m"),  # 33·0.3048 = 10.06
        ("100ft", "30.5m"),
        ("3in", "76mm"),  # 76.2
        ("1/16", "2mm"),  # 25.4/16 = 1.59
        ("15mph", "7m/s"),  # 15·0.44704 = 6.7
        ("10lbf", "44N"),  # 44.48
        ("20lbf/in", "175N/50mm"),  # 20·4.44822/25.4 = 3.502 N/mm, times 50
        ("2in/min", "51mm/min"),  # 50.8
        ("--seam A12 --at 14", "--seam A12 --at 14"),  # a name, and a bare number that is neither
    ],
)
def test_an_example_in_metres(us: str, metric: str) -> None:
    """Worked by hand, rounded as a person would type it."""
    assert in_metres(us) == metric
