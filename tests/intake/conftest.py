"""A crew's file as text, and what it comes to."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from weldcal.intake.row import Refusal
from weldcal.intake.strips import Defaults, ReadStrip
from weldcal.intake.strips import read_strips as read_file
from weldcal.records.strip import Strip

NOW = datetime(2026, 6, 20, 9, 0, tzinfo=ZoneInfo("America/Denver"))
FIXTURES = Path(__file__).parents[2] / "fixtures"


@dataclass(frozen=True)
class Loaded:
    """What a file came to, held whole."""

    strips: tuple[tuple[int, Strip], ...]
    refused: tuple[Refusal, ...]
    ignored: tuple[str, ...]
    rows: int


def read_strips(path: Path, given: Defaults) -> Loaded:
    """Read a file of strips to its end."""
    file = read_file(path, given)
    found = list(file.read())
    strips = tuple((one.row, one.strip) for one in found if isinstance(one, ReadStrip))
    refused = tuple(one for one in found if isinstance(one, Refusal))
    return Loaded(strips, refused, file.ignored, len(file.rows))


Load = Callable[..., Loaded]


def defaults(**given: object) -> Defaults:
    """US job; machine, sheet and operator known, unless given."""
    usual: dict[str, object] = {
        "units": "us",
        "now": NOW,
        "by": "Ana",
        "machine": "M1",
        "sheet": "cap",
    }
    return Defaults(**{**usual, **given})  # type: ignore[arg-type]


@pytest.fixture
def load(tmp_path: Path) -> Load:
    """Write text or bytes as a file and read its strips."""

    def load_(content: str | bytes, **given: object) -> Loaded:
        path = tmp_path / "crew.csv"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return read_strips(path, defaults(**given))

    return load_
