"""An invented roof to look around on: real commands, run for real, on a fresh book.

Invariant: nothing here reaches past the command line, and every reading in it
is invented for the demo and says so.
"""

from __future__ import annotations

import contextlib
import io
import os
import shlex
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TextIO
from zoneinfo import ZoneInfo

import typer
from msgspec import Struct

from weldcal.cli.parse import argument, flag
from weldcal.cli.shell import interactive, keystroke, say, single
from weldcal.errors import WeldcalError
from weldcal.reports import lines, show
from weldcal.settings import path_of
from weldcal.words import _, mark

ZONE = "America/Denver"

_STRIP = "strip record --nozzle 932"
# (day, time on the job's clock, command): the job so far. Day 4 is yesterday: STORY.
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


class Scene(Struct, frozen=True):
    """One command of the story.

    Attributes:
        why: why it matters, and to whom; empty where it only leads on.
        typed, says: whether the command, and what it says, are shown.
        part: which of the parts of a long page is shown, counted from 0; None: all.
    """

    time: str
    words: str
    why: str = ""
    typed: bool = True
    says: bool = True
    part: int | None = None


_BY = "--bubbling none"
# The fourth day: what happens, and one line why it matters.
STORY: tuple[Scene, ...] = (
    Scene("06:50", "seam add N7-N9 --length 33ft", typed=False, says=False),
    Scene(
        "07:00",
        "conditions --ambient 58F --sheet-temp 63F --wind 3mph --line-voltage 228",
        typed=False,
        says=False,
    ),
    Scene(
        "07:02",
        "dial",
        mark("Operator: a speed to try before the first strip. It is not sure."),
    ),
    Scene(
        "07:10",
        "strip 5.5 1/4 3/16 1/4 none --yes",
        mark("Operator: the strip in one line. It says what is lacking yet: the pull."),
        says=False,
    ),
    Scene("07:12", "dial"),
    Scene(
        "07:30",
        "strip pull S6 good --parted compound",
        mark("Foreman: every lap of today will say which strip it stands on."),
    ),
    Scene("07:40", "seam start N6 --nozzle 932 --speed 5.5", typed=False, says=False),
    Scene(
        "07:44",
        "bleed N6 14 1/4,3/16",
        mark("Inspector: what was seen while it was warm, with place and time."),
    ),
    Scene("07:47", "seam finish N6 --to 33", typed=False, says=False),
    Scene(
        "10:00",
        "now 92F",
        mark("Operator: the sun is on the sheet. One number in, the new speed out."),
    ),
    Scene("10:05", f"{_STRIP} --speed 7 --bleed 1/4,1/4,5/16 {_BY}", typed=False, says=False),
    Scene("10:20", "strip pull S7 good --parted compound", typed=False, says=False),
    Scene("10:30", "seam start N7 --nozzle 932 --speed 7", typed=False, says=False),
    Scene("10:33", "bleed N7 12 0,1/16", typed=False, says=False),
    Scene(
        "10:34",
        "bleed N7 14 0,0",
        mark("Inspector: no bleed-out, twice. The gate closes; Enter opens nothing."),
    ),
    Scene(
        "10:35",
        "dial",
        mark("Operator: no speed mends this, so none is given. Where to look first:"),
    ),
    Scene(
        "10:45",
        'seam finish N7 --to 14 --why "bleed-out gone: cord on its reel, 204 V"',
        mark("Foreman: the cause, found in ten minutes, and not in ten years."),
    ),
    Scene("10:50", "conditions --line-voltage 227 --sheet-temp 96F", typed=False, says=False),
    Scene("10:55", f"{_STRIP} --speed 7 --bleed 1/4,1/4,1/4 {_BY}", typed=False, says=False),
    Scene(
        "11:10",
        "strip pull S8 good --parted compound",
        mark("Operator: cord unrolled, a strip, and the gate is open again."),
    ),
    Scene(
        "16:30",
        "evening",
        mark("Foreman: of the evening page, what comes first tomorrow."),
        part=4,
    ),
    Scene("16:31", "verify", mark("Owner: nothing was changed since. Anybody can check that.")),
)


@single
def demo(
    path: str = argument(
        _("Where to leave the book; weldcal-demo.sqlite here if not given."), default=None
    ),
    play: bool = flag("--play", _("A screen at a time, then a day of your own to type in.")),
    every: bool = flag("--all", _("Every command of the job, and all it says.")),
    quiet: bool = flag("--quiet", _("Show only the last pages.")),
) -> None:
    """Tell one morning on an invented roof, by the real commands, and leave the book to play with. Example: weldcal demo"""
    book = path_of(path) if path else _free(Path("weldcal-demo.sqlite"))
    if book.exists():
        raise _There(file=show.safe(book))
    say(_("An invented roof: people, readings, weather made up; the commands are real."))
    first_day = datetime.now(ZoneInfo(ZONE)).replace(second=0, microsecond=0) - timedelta(days=5)
    stage = Stage(book, first_day)
    with _nobody_to_ask():
        for day, time, words in SCRIPT:
            last = day == 3 and time >= "16"
            stage.run(day, time, words, shown=every or (quiet and last))
    for scene in STORY:
        with _nobody_to_ask():
            _show_scene(stage, scene, every=every, quiet=quiet)
        if play and scene.why and interactive():
            keystroke(_("Enter goes on, q leaves: "))
    say("")
    if play and interactive():
        raise typer.Exit(_your_own(stage))
    say(_("The book is {path}. Go on with: weldcal --book {path} roof", path=show.safe(book)))


class Stage(Struct, frozen=True):
    """The book of the demo, and the day before its first."""

    book: Path
    first_day: datetime

    def moment(self, day: int, time: str) -> datetime:
        """A time of day, so many days on."""
        hour, minute = map(int, time.split(":"))
        return (self.first_day + timedelta(days=day)).replace(hour=hour, minute=minute)

    def run(self, day: int, time: str, words: str, *, shown: bool) -> None:
        """One command, as a crew would type it at that moment."""
        _run(words, self.book, self.moment(day, time), shown=shown)


def _show_scene(stage: Stage, scene: Scene, *, every: bool, quiet: bool) -> None:
    """One scene: why it matters, what was typed, what was printed."""
    moment = stage.moment(4, scene.time)
    if every or quiet:
        _run(scene.words, stage.book, moment, shown=every)
        return
    if scene.why:
        say(f"{scene.time}  {_(scene.why)}")
    if scene.typed:
        print(lines.wrapped(f"$ weldcal {scene.words}"))
    if scene.part is None:
        _run(scene.words, stage.book, moment, shown=scene.says, typed=False)
        return
    with contextlib.redirect_stdout(_Heard(sys.stdout)) as output:
        _run(scene.words, stage.book, moment, shown=True, typed=False)
    print(output.getvalue().split("\n\n")[scene.part].rstrip())


class _Heard(io.StringIO):
    """What a command says, written as it would be on this screen."""

    def __init__(self, screen: TextIO) -> None:
        super().__init__()
        self._screen = screen

    def isatty(self) -> bool:
        """Whether what is captured goes on to a terminal."""
        return self._screen.isatty()


def _your_own(stage: Stage) -> int:
    """The guided day of the next morning on this roof, for the reader to type in."""
    from weldcal.cli import guide

    say(_("Now you: it is the next morning on this roof. Whatever you type stays in this book."))
    begun, morning = datetime.now(UTC), stage.moment(5, "07:00").astimezone(UTC)
    clock = lambda: morning + (datetime.now(UTC) - begun)  # noqa: E731
    return guide.open_day(guide.DayBook(stage.book, clock=clock))


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


def _run(words: str, book: Path, moment: datetime, *, shown: bool, typed: bool = True) -> None:
    """One command, as a crew would type it at that moment."""
    from weldcal.cli.main import main

    sink: contextlib.AbstractContextManager[object]
    sink = contextlib.nullcontext() if shown else contextlib.redirect_stdout(io.StringIO())
    if shown and typed:
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
