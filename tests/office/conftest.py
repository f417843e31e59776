"""Crews with laptops of their own, and the office that their packs come to."""

from __future__ import annotations

import contextlib
import io
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Clock
from weldcal.cli.main import main

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


# Another sort of morning: warmer and faster by the day, faults on probed lap, what was measured.
WARM = """
    06:45 conditions --ambient {air}F --sheet-temp {sheet}F --wind 5mph
    06:50 strip record --nozzle 932 --speed {speed} --bleed 1/16,1/16,1/16 --bubbling none
    07:00 strip record --nozzle 932 --speed {speed} --true-speed {true} --bleed 1/4,3/16,5/16 --bubbling none
    07:20 strip pull S{last} good --parted compound
    07:30 seam start A1 --from {a} --nozzle 932 --speed {speed} --nozzle-measured 915F
    07:37 seam finish A1 --to {b}
    10:00 probe A1 {a}-{b}
    10:10 finding A1 void {f}-{f}.5
    10:12 finding A1 fishmouth {f}-{f}.7
"""
ROOFS = (("Mill roof", "Ana Ruiz"), ("Barn roof", "Cy Dunn"), ("Dock roof", "Eva Lind"))


def typed(book: Path, line: str, clock: Clock) -> None:
    """One command that must do its work, with nobody looking."""
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["--book", str(book), *shlex.split(line)], clock=clock) == 0, line


def morning(folder: Path, roof: str, by: str, days: int, log: str = MORNING) -> Path:
    """A crew's morning, so many days after Monday, on a book of its own; its pack."""
    book, clock = folder / f"{roof}.sqlite", Clock()
    clock.set("06:40", days=days)
    if not book.exists():
        initials = "".join(word[0] for word in by.split())
        for line in (
            CREW.format(roof=roof, by=by, initials=initials),
            f'me "{by}"',
            "seam add A1-A3 --length 33ft",
        ):
            typed(book, line, clock)
    for line in filter(None, map(str.strip, log.splitlines())):
        time, _, words = line.partition(" ")
        clock.set(time)
        typed(book, words, clock)
    (folder / "packs").mkdir(exist_ok=True)
    file = folder / "packs" / f"{roof}-{days}.weldpack"
    typed(book, f'pack "{file}"', clock)
    return file


@pytest.fixture
def crew(tmp_path: Path) -> Callable[..., Path]:
    """A crew's morning on a roof of its own, as a pack: `crew("Mill roof", "Ana Ruiz")`."""

    def made(roof: str, by: str, *, days: int = 0) -> Path:
        return morning(tmp_path, roof, by, days)

    return made


@pytest.fixture(scope="session")
def _season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three crews' four mornings: packs, an office with its lake, one book of all. Made once."""
    for library in ("pyarrow", "fsspec", "duckdb"):
        pytest.importorskip(library, reason="needs the extra: pip install 'weldcal[office]'")
    folder = tmp_path_factory.mktemp("season")
    for c, (roof, by) in enumerate(ROOFS):
        for day in range(4):
            warm = 50 + 8 * day + c
            log = WARM.format(
                air=warm,
                sheet=warm + 20,
                speed=4.5 + 0.5 * day,
                true=f"{4.4 + 0.55 * day + c / 10:.2f}",
                last=2 * day + 2,
                a=8 * day,
                b=8 * day + 8,
                f=8 * day + 3,
            )
            pack = morning(folder, roof, by, day, log)
            typed(folder / "all.sqlite", f'merge "{pack}"', Clock())
    typed(
        folder / "none.sqlite",
        f'office take "{folder / "packs"}" --office "{folder / "office"}"',
        Clock(),
    )
    typed(folder / "none.sqlite", f'office lake --office "{folder / "office"}"', Clock())
    return folder


@pytest.fixture
def season(weldcal: Any, _season: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """The program on one book of all that three crews did; its office and lake are beside."""
    shutil.copytree(_season, tmp_path, dirs_exist_ok=True)
    monkeypatch.setenv("WELDCAL_OFFICE", str(tmp_path / "office"))
    weldcal.book = tmp_path / "all.sqlite"
    return weldcal
