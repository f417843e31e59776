"""Days that several tests of commands begin with."""

from __future__ import annotations

from typing import Any

import pytest

from tests.cli.go_aheads import GOOD, READ, SET


@pytest.fixture
def mended_day(job: Any) -> Any:
    """A go-ahead, A1 welded on it, probed with a void found, the void mended; all by 10:00."""
    job.day(
        """
        06:50 seam add B1-B2 --length 33ft
        07:00 conditions --ambient 61F --sheet-temp 74F
        07:06 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none
        07:30 strip pull S1 good
        07:40 seam start A1 --nozzle 932 --speed 5.5
        07:44 bleed A1 14 3/16,1/4
        07:48 seam finish A1 --to 33
        09:10 probe A1 0-33 --void "14.5+3in x 1/2in" --by BO
        09:30 mend F1 --method patch --patch 12in
        """
    )
    job.clock.set("10:00")
    return job


@pytest.fixture
def passed(job: Any) -> Any:
    """S1 at 07:00: ambient 60 °F, sheet 70 °F, wind 5 mph, 230 V; pulled at 07:10."""
    job.day(f"07:00 conditions {READ}\n07:00 {GOOD}\n07:12 seam start A1 {SET}")
    return job


@pytest.fixture
def laid(job: Any) -> Any:
    """Area C, 60 ft by 20 ft, with a drain and a curb."""
    rolls = "--roll-width 39.4in --roll-length 33ft"
    marks = '--mark "drain at 30ft,10ft" --mark "curb at 40ft,10ft around 14ft"'
    job.ok(f'roof lay "C 60ft x 20ft" {rolls} {marks}')
    return job
