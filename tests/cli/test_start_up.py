"""Recording never waits for what it does not need: proved in fresh interpreters."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from typing import Any

import pytest

HEAVY = (
    "numpy",
    "scipy",
    "pandas",
    "sklearn",
    "rich",
    "pydantic",
    "sqlite_utils",
    "typing_extensions",
)
# Says at the very end which heavy packages were loaded, however the program ended.
TELL = f"import atexit, sys; atexit.register(lambda: print('LOADED', *(m for m in {HEAVY!r} if m in sys.modules), file=sys.stderr))"

RECORDING = {
    "strip record": "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none --ambient 61F",
    "strip pull": "strip pull S1 good --parted compound",
    "conditions": "conditions --ambient 61F --sheet-temp 74F",
    "seam add": "seam add B1-B3 --length 33ft",
    "seam start": "seam start A2 --nozzle 932 --speed 5.5",
    "seam finish": "seam finish A1 --to 33",
    "bleed": "bleed A1 14 3/16,1/4",
    "probe": 'probe A1 0-33 --void "14.5+3in x 1/2in" --by BO',
    "finding": "finding A1 scorched 3-4 --by BO",
    "mend": "mend F1 --method patch",
    "peel": "peel A1 20 --parted compound --load 40lbf --width 1in",
    "amend": "amend S1 speed 6 --why slip",
    "settle": 'settle R1 "looked at"',
    "limit set": 'limit set bleed_high 5/16in --source "sheet 12"',
}


@pytest.fixture
def day(go_ahead: Any) -> Any:
    """Something for every command to be about: S1, R1 open and warned, F1."""
    go_ahead.ok("seam start A1 --nozzle 932 --speed 9")
    go_ahead.ok("finding A1 cold 7 --by BO")
    return go_ahead


@pytest.mark.parametrize("command", RECORDING)
def test_a_recording_command_loads_nothing_heavy(
    day: Any, fresh: Callable[..., subprocess.CompletedProcess[str]], command: str
) -> None:
    """It records, and nothing of `HEAVY` was imported."""
    before = len(day.entries())
    done = fresh(RECORDING[command], before=TELL)
    assert done.returncode == 0
    assert done.stderr.splitlines() == ["LOADED"]
    assert len(day.entries()) > before


def test_what_tells_would_tell(
    day: Any, fresh: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    """The proof can fail: `dial` does load numpy."""
    assert "numpy" in fresh("dial", before=TELL).stderr
