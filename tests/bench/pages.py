"""Every page that is handed on, held against validators made by others. Run by hand:

    pip install page-validation outloud      # PDF/A-2a and PDF/UA-1; PDF/UA-1 and WCAG 2.2
    npm install vnu-jar                      # the Nu Html Checker of the W3C; needs java
    python -m tests.bench.pages FOLDER [--vnu node_modules/vnu-jar/build/dist/vnu.jar]

With --there the pages that lie in FOLDER are held, and none is made.

Invariant: a validator that is not there is said to be missing, never passed.
Exit code 1 if any page fails. Set WELDCAL_LANG for the pages of another language.
"""

from __future__ import annotations

import argparse
import importlib
import importlib.util
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from tests.dossier.conftest import LOG, MONDAY, run

_JOB = 'job new "Empty roof (invented)" --units us --zone America/Denver --by "Ana Ruiz"'
_STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,1/4 --bubbling none"
_WILD = '<script>alert(1)</script> & \\"#eval(1)\\" \U0001f525 ﷽ מִבְדָּק 屋根 =1+1'
# Roofs by name: (day, time, command).
_ROOFS: dict[str, str] = {
    "full": LOG,
    "empty": f"0 06:30 {_JOB}",
    "one-strip": f'0 06:30 {_JOB} --sheet base --machine "blue: ft/min 1-20"\n0 07:00 {_STRIP} --by AR',
    "hostile": f'0 06:30 job new "{_WILD}" --units si --zone Asia/Tokyo --by "{_WILD}" --sheet "{_WILD}" --machine "blue: ft/min 1-20"\n'
    f'0 06:40 seam add A1-A2 --length 33ft --place "{_WILD}"\n0 07:00 finding A1 wrinkle 3-4 --how seen --note "{_WILD}" --by "{_WILD}"',
}
_EVENING = MONDAY + timedelta(days=1, hours=17)


def made(folder: Path) -> Iterator[Path]:
    """Every page of every roof."""
    for name, log in _ROOFS.items():
        book = folder / name / "book.sqlite"
        shutil.rmtree(book.parent, ignore_errors=True)
        book.parent.mkdir(parents=True)
        for line in filter(None, map(str.strip, log.splitlines())):
            day, time, words = line.split(" ", 2)
            hour, minute = map(int, time.split(":"))
            run(book, MONDAY + timedelta(days=int(day), hours=hour, minutes=minute), words)
        _pages(book, _EVENING)
        yield from sorted([*book.parent.glob("*.pdf"), *book.parent.glob("*.html")])


def _pages(book: Path, at: datetime) -> None:
    for paper in ("letter", "a4"):
        run(book, at, f"dossier {book.parent / f'dossier-{paper}'} --paper {paper}")
        run(
            book,
            at,
            f"evening --ambient 15C --paper {paper} --pdf {book.parent / f'evening-{paper}.pdf'}",
        )
        run(book, at, f"form daily --paper {paper} --pdf {book.parent / f'daily-{paper}.pdf'}")
    sheet = f"--html {book.parent / 'blank.html'} --pdf {book.parent / 'blank.pdf'}"
    run(book, at, f"form daily --blank {sheet}")
    daily = f"--html {book.parent / 'daily.html'} --pdf {book.parent / 'daily.pdf'}"
    run(book, at, f"form daily {MONDAY:%Y-%m-%d} {daily}")
    run(book, at, f"evening --html {book.parent / 'evening.html'}")
    run(
        book,
        at,
        f"history --html {book.parent / 'history.html'} --pdf {book.parent / 'history.pdf'}",
    )


def _archive(standard: str) -> Callable[[Path], list[str]]:
    page: Any = importlib.import_module("page")

    def check(path: Path) -> list[str]:
        found = page.validate_pdf(str(path), profile=standard)
        return [f"{f.rule_id}: {f.message}" for f in found.failures]

    return check


def _aloud(path: Path) -> list[str]:
    done = subprocess.run(
        ["outloud", "--no-info", "--fail-on", "warning", str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    return [] if done.returncode == 0 else done.stdout.splitlines()[:6] or [done.stderr]


def _nu(jar: str) -> Callable[[Path], list[str]]:
    def check(path: Path) -> list[str]:
        done = subprocess.run(
            ["java", "-jar", jar, str(path)], capture_output=True, text=True, check=False
        )
        return done.stderr.splitlines()

    return check


def _checks(vnu: str | None) -> Iterator[tuple[str, str, Callable[[Path], list[str]] | None]]:
    """Name, kind of file, and what it says of one; None where it is not installed."""
    has_page = importlib.util.find_spec("page") is not None
    for standard, short in (("PDF/A-2a", "2a"), ("PDF/UA-1", "ua1")):
        yield f"page-validation {standard}", ".pdf", _archive(short) if has_page else None
    yield "outloud PDF/UA-1, WCAG 2.2", ".pdf", _aloud if shutil.which("outloud") else None
    yield "Nu Html Checker", ".html", _nu(vnu) if vnu and shutil.which("java") else None


def main() -> int:
    """Make the pages and tell what each validator says."""
    words = argparse.ArgumentParser()
    words.add_argument("folder", type=Path)
    words.add_argument("--vnu")
    words.add_argument("--there", action="store_true")
    given = words.parse_args()
    pages = sorted(given.folder.rglob("*")) if given.there else list(made(given.folder))
    failed = 0
    for name, kind, check in _checks(given.vnu):
        mine = [page for page in pages if page.suffix == kind]
        if check is None:
            print(f"{name}: not installed; {len(mine)} pages unproven")
            continue
        said = {page: check(page) for page in mine}
        bad = {page: lines for page, lines in said.items() if lines}
        failed += len(bad)
        print(f"{name}: {len(mine) - len(bad)} of {len(mine)} pages pass")
        for page, lines in bad.items():
            print("\n  ".join([f"- {page.relative_to(given.folder)}", *lines]))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
