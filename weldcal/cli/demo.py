"""An invented roof to look around on: real commands, run for real, on a fresh book.

Invariant: nothing here reaches past the command line, and every reading in it
is invented for the demo and says so.
"""

from __future__ import annotations

import contextlib
import os
import shlex
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import typer

from weldcal.cli.shell import Command, say, single
from weldcal.errors import WeldcalError
from weldcal.reports import show
from weldcal.settings import path_of
from weldcal.words import _, mark

demo = single()
ZONE = "America/Denver"

_STRIP = "strip record --nozzle 932"
# (day, time on the job's clock, command). Day 1 is four days before today.
SCRIPT: list[tuple[int, str, str]] = [
    (
        1,
        "06:40",
        'job new "Mill Creek School (invented)" --units us --zone America/Denver'
        ' --area "North 60ft x 18ft" --sheet "base: polyester-reinforced SBS base sheet, 3 mm"'
        ' --machine "blue: ft/min 1-20 step 0.5" --instrument "tape 1: tape, checked 2026-05-04"'
        ' --instrument "gun 1: infrared thermometer, checked 2026-05-04"'
        ' --person "Ana Ruiz: AR, operator" --person "Ben Okoro: BO, inspector"'
        ' --person "Cleo Marsh: CM, foreman"',
    ),
    (1, "06:45", 'seam add N1-N6 --length 33ft --place "zero end chalked at the west edge"'),
    (
        1,
        "07:00",
        "conditions --ambient 52F --sheet-temp 56F --wind 4mph --line-voltage 228 --by AR",
    ),
    (1, "07:06", f"{_STRIP} --speed 6.5 --bleed 1/16,1/8,1/16 --bubbling none --by AR"),
    (1, "07:24", "strip pull S1 cold --parted lap --by AR"),
    (1, "07:30", f"{_STRIP} --speed 5 --bleed 1/4,1/4,5/16 --bubbling none --by AR"),
    (1, "07:50", "strip pull S2 good --parted compound --bonded-width 3in --by AR"),
    (1, "08:00", "seam start N1 --nozzle 932 --speed 5 --by AR"),
    (1, "08:04", "bleed N1 14 1/4,1/4 --by AR"),
    (1, "08:08", "seam finish N1 --to 33 --by AR"),
    (1, "08:20", "seam start N2 --nozzle 932 --speed 5 --by AR"),
    (1, "08:28", "seam finish N2 --to 33 --by AR"),
    (1, "10:10", "probe N1 0-33 --started 10:00 --by BO"),
    (1, "10:30", "probe N2 0-33 --started 10:20 --by BO"),
    (
        1,
        "14:00",
        "conditions --ambient 84F --sheet-temp 118F --wind 6mph --line-voltage 226 --by AR",
    ),
    (1, "14:02", "dial --by AR"),
    (1, "14:05", f"{_STRIP} --speed 7.5 --bleed 1/4,3/16,1/4 --bubbling none --by AR"),
    (1, "14:25", "strip pull S3 good --parted compound --by AR"),
    (1, "14:30", "seam start N3 --nozzle 932 --speed 7.5 --by AR"),
    (1, "14:35", "seam finish N3 --to 33 --by AR"),
    (
        2,
        "06:58",
        "conditions --ambient 44F --sheet-temp 46F --wind 9mph --line-voltage 229 --by AR",
    ),
    (2, "07:05", "seam start N4 --nozzle 932 --speed 7.5 --by AR"),
    (2, "07:09", 'seam finish N4 --to 33 --why "bleed-out gone" --by AR'),
    (2, "07:20", f"{_STRIP} --speed 4.5 --bleed 1/4,5/16,1/4 --bubbling none --by AR"),
    (2, "07:42", "strip pull S4 good --parted compound --by AR"),
    (2, "07:50", 'settle R4 "strip S4 run and good; N4 to be probed in full" --by CM'),
    (2, "09:30", 'probe N4 0-33 --started 09:18 --void "14.5+30in x 1in" --by BO'),
    (2, "09:50", 'mend F1 --method "patch, hand welded" --patch 12in --tool "hand tool 2" --by AR'),
    (2, "10:40", "probe N4 13-18 --started 10:36 --by BO"),
    (2, "10:50", "peel N4 25 --parted lap --load 9lbf --width 1in --by BO"),
    (2, "10:55", "finding N4 cold 20-30 --how cut --by BO"),
    (2, "11:00", 'amend W3 start 1 --why "began 1 ft from the zero end" --by BO'),
    (
        2,
        "11:20",
        'mend F3 --method "re-welded by machine, patch over the cut" --patch 12in --by AR',
    ),
    (2, "11:21", 'mend F2 --method "patch, hand welded" --patch 12in --tool "hand tool 2" --by AR'),
    (2, "13:00", "probe N4 0-1 --started 12:55 --by BO"),
    (2, "13:10", "probe N4 19-31 --started 13:02 --by BO"),
    (
        3,
        "07:00",
        "conditions --ambient 58F --sheet-temp 63F --wind 3mph --line-voltage 228 --by AR",
    ),
    (3, "07:02", "dial --by AR"),
    (3, "07:10", f"{_STRIP} --speed 5.5 --bleed 1/4,3/16,1/4 --bubbling none --by AR"),
    (3, "07:30", "strip pull S5 good --parted compound --by AR"),
    (3, "07:40", "seam start N5 --nozzle 932 --speed 5.5 --by AR"),
    (3, "07:47", "seam finish N5 --to 33 --by AR"),
    (3, "14:05", "dial --ambient 89F --sheet-temp 124F --by AR"),
    (3, "15:59", 'me "Ana Ruiz"'),  # now the device is its operator's; until here each typed
    (3, "16:00", "strip list"),
    (3, "16:01", "roof"),
    (3, "16:02", "trace N4"),
    (3, "16:03", "verify"),
]


@demo.command(cls=Command)
def demo_(
    path: str = typer.Argument(
        None, help=_("Where to leave the book; weldcal-demo.sqlite here if not given.")
    ),
    quiet: bool = typer.Option(False, "--quiet", help=_("Show only the last pages.")),
) -> None:
    """Run an invented roof through the real commands and leave the book to play with. Example: weldcal demo"""
    book = path_of(path) if path else _free(Path("weldcal-demo.sqlite"))
    if book.exists():
        raise _There(file=show.safe(book))
    say(_("An invented roof: people, readings and weather are made up. The commands are real."))
    first_day = datetime.now(ZoneInfo(ZONE)).replace(second=0, microsecond=0) - timedelta(days=4)
    with _nobody_to_ask():
        for day, time, words in SCRIPT:
            hour, minute = map(int, time.split(":"))
            moment = (first_day + timedelta(days=day)).replace(hour=hour, minute=minute)
            _run(words, book, moment, shown=not quiet or (day == 3 and hour >= 14))
    say("")
    say(_("The book is {path}. Go on with: weldcal --book {path} roof", path=show.safe(book)))


@contextlib.contextmanager
def _nobody_to_ask() -> Iterator[None]:
    """While the demo types, no command may stop and ask: at a terminal it would wait for ever."""
    typed = sys.stdin
    with Path(os.devnull).open(encoding="utf-8") as empty:
        sys.stdin = empty
        try:
            yield
        finally:
            sys.stdin = typed


class _There(WeldcalError):
    """A file where the demo's book would go."""

    sentence = mark("{file} is there already. Type another name: weldcal demo OTHER.sqlite")


def _run(words: str, book: Path, moment: datetime, *, shown: bool) -> None:
    """One command, as a crew would type it at that moment."""
    import io

    from weldcal.cli.main import main

    sink: contextlib.AbstractContextManager[object]
    sink = contextlib.nullcontext() if shown else contextlib.redirect_stdout(io.StringIO())
    if shown:
        print(f"\n[{moment:%a %H:%M}] $ weldcal {words}")
    with sink:
        code = main(
            ["--book", str(book), *shlex.split(words)], clock=lambda: moment.astimezone(UTC)
        )
    if code:
        raise typer.Exit(code)


def _free(path: Path) -> Path:
    """`path`, or the first of path-2, path-3 ... that is not there."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


APPS = {"demo": demo}
