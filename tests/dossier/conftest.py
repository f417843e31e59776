"""Roofs to make dossiers of: one where everything happened, and the pages made from it."""

from __future__ import annotations

import contextlib
import io
import shlex
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from weldcal.book import Book
from weldcal.cli.main import main
from weldcal.reports.dossier import content, html, pdf
from weldcal.reports.dossier.document import Document, Figure, Section, Table

ZONE = ZoneInfo("America/Denver")
MONDAY = datetime(2026, 6, 1, 0, 0, tzinfo=ZONE)
_SET = "--nozzle 932"
# What happened, on invented days; the tests of a page say what of it they look for.
LOG = """
0 06:30 job new "Quarry School (invented)" --units us --zone America/Denver --by "Ana Ruiz" --sheet "base: polyester-reinforced SBS base sheet" --machine "blue: ft/min 1-20 step 0.5" --instrument "tape 1: tape, checked 2026-01-05, due 2026-06-01" --person "Ana Ruiz: AR, operator" --person "Ben Okoro: BO, inspector"
0 06:35 me "Ana Ruiz"
0 06:40 limit set bleed_high 3/8in --source "maker sheet 12, rev 4" --by AR
0 06:41 seam add A1-A8 --length 33ft
0 07:00 conditions --ambient 61F --sheet-temp 70F --humidity 40 --wind 5mph --line-voltage 228 --by AR
0 07:05 strip record --nozzle 932 --speed 7 --bleed 1/16,1/8,1/16 --bubbling none --by AR
0 07:20 strip pull S1 cold --parted lap --by AR
0 07:25 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none --by AR
0 07:45 strip pull S2 good --parted compound --by AR
0 08:00 seam start A1 --nozzle 932 --speed 5.5 --by AR
0 08:03 bleed A1 10 1/4,3/16 --by AR
0 08:05 bleed A1 20 1/4,5/16 --by AR
0 08:08 seam finish A1 --to 33 --by AR
0 08:20 seam start A2 --nozzle 932 --speed 5.5 --by AR
0 08:22 bleed A2 8 1/2,5/8 --by AR
0 08:28 seam finish A2 --to 33 --by AR
0 08:40 seam start A3 --nozzle 932 --speed 5.5 --by AR
0 08:48 seam finish A3 --to 33 --by AR
0 09:00 seam start A4 --nozzle 932 --speed 5.5 --by AR
0 09:08 seam finish A4 --to 20 --by AR
0 10:00 probe A1 0-33 --by BO
0 10:20 probe A2 0-33 --void "14.5+30in x 1in" --void "20+6in x 1/2in" --by BO
0 10:40 mend F1 --method "patch, hand welded" --patch 12in --by AR
0 11:00 probe A2 13-18 --by BO
0 11:10 probe A3 0-12 --by AR
0 11:20 finding A1 wrinkle 3-4 --how seen --by BO
0 11:30 mend F3 --method "patch" --by AR
0 11:40 peel A1 25 --parted compound --load 40lbf --width 1in --by BO
0 11:45 hotwork start --permit 4711 --extinguisher "2-A at the machine" --deck steel --watch 60min --watch-source "permit 4711" --by AR
0 12:00 hotwork end --by AR
0 13:00 hotwork watch --by "Ben Okoro"
0 14:00 amend W3 start 12 --why "began at 12 ft" --by BO
0 16:00 seal --label "day 1" --by AR
0 16:05 hand L1 --to "owner's representative J. Vale" --how paper --by AR
1 07:00 conditions --ambient 88F --sheet-temp 120F --wind 3mph --line-voltage 226 --instrument "tape 1" --by AR
1 07:10 seam start A5 --nozzle 932 --speed 8 --by AR
1 07:16 seam finish A5 --to 33 --by AR
1 07:30 strip record --nozzle 932 --speed 8 --bleed 1/4,1/4,5/16 --bubbling none --true-speed 8.1ft/min --by AR
1 07:50 strip pull S3 good --parted compound --by AR
1 08:00 seam start A6 --nozzle 932 --speed 8 --by AR
1 08:06 seam finish A6 --to 33 --by AR
1 15:00 probe A6 0-33 --by BO --at 09:00
"""


def run(book: Path, at: datetime, words: str) -> None:
    """One command as a crew types it at that moment; it must do its work."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        code = main(["--book", str(book), *shlex.split(words)], clock=lambda: at.astimezone(UTC))
    assert code == 0, f"{words}: {said.getvalue()}"


def written(path: Path) -> Path:
    """The book of that roof, written there."""
    for line in filter(None, map(str.strip, LOG.splitlines())):
        day, time, words = line.split(" ", 2)
        hour, minute = map(int, time.split(":"))
        run(path, MONDAY + timedelta(days=int(day), hours=hour, minutes=minute), words)
    return path


@pytest.fixture(scope="session")
def _quarry(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("quarry") / "book.sqlite")


@pytest.fixture
def quarry(weldcal: Any, _quarry: Path) -> Any:
    """The program on a roof where everything happened; it is Tuesday evening."""
    shutil.copyfile(_quarry, weldcal.book)
    weldcal.clock.moment = MONDAY + timedelta(days=1, hours=17)
    return weldcal


def gather(path: Path, *, people: bool = True) -> Any:
    """What the book gathers for a dossier, on Tuesday evening."""
    book = Book(path, clock=lambda: (MONDAY + timedelta(days=1, hours=17)).astimezone(UTC))
    found = book.dossiers.dossier(people=people)
    book.close()
    return found


class Made:
    """A dossier in all its forms, each made when first asked for."""

    def __init__(self, path: Path) -> None:
        self.book = path
        self.facts = gather(path)
        self.document: Document = content.document(self.facts)
        self._pdf: bytes | None = None

    @property
    def html(self) -> str:
        """The HTML file."""
        return "".join(html.render(self.document))

    @property
    def pdf(self) -> bytes:
        """The PDF."""
        self._pdf = self._pdf or pdf.render(self.document, "letter")
        return self._pdf

    def blocks(self, section: Section | None = None) -> list[Any]:
        """Every block, in reading order."""
        if section is not None:
            return [*section.blocks, *(b for part in section.sections for b in self.blocks(part))]
        return [
            *self.document.lead,
            *(b for part in self.document.sections for b in self.blocks(part)),
        ]

    def figures(self) -> dict[str, Figure]:
        """Drawings by name."""
        return {b.name: b for b in self.blocks() if isinstance(b, Figure)}

    def tables(self) -> list[Table]:
        """Every table, those of the drawings included."""
        own = [b for b in self.blocks() if isinstance(b, Table)]
        return own + [f.table for f in self.figures().values() if f.table is not None]

    def table(self, caption: str) -> Table:
        """The table of that caption."""
        return next(t for t in self.tables() if t.caption == caption)


@pytest.fixture(scope="session")
def made(_quarry: Path) -> Made:
    """The dossier of that roof."""
    return Made(_quarry)


@pytest.fixture
def dossier_of() -> Callable[[Path], Made]:
    """A dossier of another book."""
    return Made
