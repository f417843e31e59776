"""Crews with laptops of their own, and the office that their packs come to."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

CREW = (
    'job new "{roof}" --units us --zone America/Denver --by "{by}" '
    '--sheet "base: polyester-reinforced SBS base sheet" --machine "blue: ft/min 1-20 step 0.5" '
    '--person "{by}: {initials}, operator"'
)
MORNING = """
    06:45 conditions --ambient 61F --sheet-temp 74F --wind 5mph
    06:50 strip record --nozzle 932 --speed 7 --bleed 1/16,1/16,1/16 --bubbling none
    07:00 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none
    07:15 strip pull S2 good --parted compound
    07:20 seam start A1 --nozzle 932 --speed 5.5
    07:27 seam finish A1 --to 33
    10:00 probe A1 0-33
    10:10 finding A1 void 4-4.5
"""


@pytest.fixture
def crew(weldcal: Any, tmp_path: Path) -> Callable[..., Path]:
    """A crew's morning on a roof of its own, as a pack: `crew("Mill roof", "Ana Ruiz")`."""
    packs = tmp_path / "packs"
    packs.mkdir(exist_ok=True)
    monday = weldcal.clock.moment

    def made(roof: str, by: str, *, book: str = "", log: str = MORNING, days: int = 0) -> Path:
        weldcal.book = tmp_path / f"{book or roof}.sqlite"
        weldcal.clock.moment = monday
        weldcal.clock.set("06:40", days=days)
        if not weldcal.book.exists():
            initials = "".join(word[0] for word in by.split())
            weldcal.ok(CREW.format(roof=roof, by=by, initials=initials))
            weldcal.ok(f'me "{by}"')
            weldcal.ok("seam add A1-A3 --length 33ft")
        weldcal.day(log)
        file = packs / f"{book or roof}-{days}.weldpack"
        weldcal.ok("pack", str(file))
        return file

    return made
