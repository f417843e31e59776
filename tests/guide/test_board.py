"""The board at a real terminal: what stands on it, its keys, and the terminal left as it was."""

from __future__ import annotations

import contextlib
import os
import signal
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pexpect
import pytest

from tests.conftest import STRIP
from tests.guide.conftest import ESCAPE, ahead

READ = "conditions --ambient 61F --sheet-temp 74F --wind 5mph"
EVEN = STRIP.replace("1/4,3/16,5/16", "1/4,1/4,1/4,1/4")
OPENS, LEAVES = "\x1b[?1049h", "\x1b[?1049l"  # the board's own screen (xterm)
HIDES, SHOWS = "\x1b[?25l", "\x1b[?25h"  # the cursor


class Board:
    """A terminal with the board on it."""

    def __init__(self, terminal: Any, folder: Path, words: str) -> None:
        self.child, self.folder = terminal.child, folder
        self.raw = ""
        terminal.asked()
        stty = f"stty -a > {folder}/"
        self.child.send(f"{stty}before; weldcal {words}; echo code $?; {stty}after; echo 'b'ack\r")

    def _read(self, seconds: float) -> None:
        with contextlib.suppress(pexpect.TIMEOUT):
            self.raw += self.child.read_nonblocking(65536, seconds)

    @property
    def rows(self) -> list[str]:
        """The rows of the picture drawn last."""
        _before, home, frame = self.raw.rpartition("\x1b[H")
        if not home:  # the rest of a picture drawn before
            return [""]
        return [row.rstrip() for row in ESCAPE.sub("", frame).split("\r\n")]

    def _wait(self, shown: Callable[[], str], texts: tuple[str, ...]) -> str:
        until = time.monotonic() + 40
        while not all(text in shown() for text in texts):
            assert time.monotonic() < until, (texts, self.raw[-3000:])
            self._read(0.2)
        return shown()

    def shows(self, *texts: str) -> str:
        """Wait until all of these stand in the last picture; what stands there."""
        return self._wait(lambda: " ".join(" ".join(self.rows).split()), texts)

    def fits(self, columns: int, rows: int, *texts: str) -> str:
        """Wait for a picture of at most so many columns and rows on which all of these stand."""

        def shown() -> str:
            held = len(self.rows) <= rows and max(map(len, self.rows)) <= columns
            return " ".join(" ".join(self.rows).split()) if held else ""

        return self._wait(shown, texts)

    def says(self, *texts: str) -> str:
        """Wait for words that are not drawn over; all that was said since a key was pressed."""
        return self._wait(lambda: " ".join(ESCAPE.sub("", self.raw).split()), texts)

    def silent(self, seconds: float) -> None:
        """Nothing at all is written for so long, once what is on its way has come."""
        for _ in range(10):
            before = self.raw
            self._read(1)
            if self.raw == before:
                break
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            self._read(0.2)
        assert self.raw == before

    def press(self, keys: str) -> None:
        """Type, and forget what was shown before."""
        self.raw = ""
        self.child.send(keys)

    def pid(self) -> int:
        """The program's process."""
        around = Path(f"/proc/{self.child.pid}/task/{self.child.pid}/children")
        (pid,) = around.read_text().split()
        return int(pid)

    def left(self, code: int, *, drawn: bool = True) -> None:
        """Wait until the shell is back: with this code, the modes as before, the cursor and screen given back."""
        self.says(f"code {code}", "back")
        modes = [(self.folder / name).read_text() for name in ("before", "after")]
        before, after = (text.partition("line = ")[2] for text in modes)  # without the size
        assert after == before != ""
        if drawn:
            assert self.raw.rfind(LEAVES) > self.raw.rfind(OPENS)
            assert self.raw.rfind(SHOWS) > self.raw.rfind(HIDES)


@pytest.fixture
def morning(go_ahead: Any) -> Any:
    """The weather read at 07:00, strips S1 and S2 good, lap A1 begun at 07:10; it is 07:12."""
    go_ahead.day(f"""
        06:46 {EVEN}
        07:00 {READ}
        07:03 strip pull S2 good
        07:10 seam start A1 --nozzle 932 --speed 5.5
    """)
    go_ahead.clock.set("07:12")
    return go_ahead


@pytest.fixture
def board(morning: Any, terminal: Callable[..., Any], tmp_path: Path) -> Callable[..., Board]:
    """Sit down at a terminal of so many columns and rows and type `weldcal board`."""

    def open_(columns: int = 80, rows: int = 24, words: str = "board", **env: str) -> Board:
        env = {"TERM": "xterm-256color", **env}
        return Board(terminal(columns, rows, **env), tmp_path, words)

    return open_


def test_all_of_the_day_stands_on_it_at_80_by_24(board: Any) -> None:
    """Speed, answer, step to come, go-ahead, lap and place, ages, keys; q leaves it."""
    here = board()
    text = here.shows("q leaves.")
    for part in (
        "School roof, 2026-06-01 07:12: blue, base, selvage",
        "████████████ ████████████ ft/min",
        "nozzle 932 °F",
        "Set 5.5 ft/min, nozzle 932 °F.",
        "Later today, if it stays clear: ",
        "Go-ahead S2 stands: 5.5 ft/min, nozzle 932 °F. ",
        " min left, until ",
        "Lap A1 since 07:10, from 0. By its speed about 11 ft now. No bleed check yet.",
        "Read 12 min ago: air 61 °F, sheet 74 °F, wind 5 mph.",
        "Enter lap; c conditions, ",
    ):
        assert part in text, (part, text)
    assert len(here.rows) <= 24
    here.press("q")
    here.left(0)


SIZES = [(40, 20), (40, 10), (20, 12), (120, 40), (80, 8), (15, 5), (80, 24)]


def test_on_every_size_of_screen_the_answer_is_whole(board: Any, morning: Any) -> None:
    """Drawn anew as the size changes: large where there is room, never at 40 by 10 or less; left from 20 columns."""
    morning.ok("dial")  # advice on record says how long a reading holds
    answer = " ".join(morning.ok("dial").out.split())
    here = board()
    here.shows("q leaves.")
    for columns, rows in SIZES:
        here.raw = ""
        here.child.setwinsize(rows, columns)
        here.fits(columns, rows, answer.split(".")[0][:12])
        if rows > 5:
            text = here.fits(columns, rows, answer, "q leaves.")
            assert ("██" in text) == (rows >= 20)
    here.child.setwinsize(15, 20)
    here.press("q")
    here.left(0)


@pytest.mark.parametrize(
    ("ends", "screen"),
    [
        ("Ctrl-C", "plain"),
        ("TERM", "plain"),
        ("HUP", "high-contrast"),
        ("Ctrl-C", "linear"),
        ("TERM", "linear"),
    ],
)
def test_the_terminal_is_as_it_was_however_it_ends(board: Any, screen: str, ends: str) -> None:
    """Modes, cursor and screen; the code of what is broken off."""
    here = board(WELDCAL_SCREEN=screen)
    here.says("q leaves.")
    if ends == "Ctrl-C":
        here.press("\x03")
    else:
        os.kill(here.pid(), getattr(signal, f"SIG{ends}"))
    here.left(130, drawn=screen != "linear")


def test_ctrl_z_gives_the_terminal_back_and_fg_goes_on(board: Any) -> None:
    """The shell finds its own screen and modes; the board is drawn again."""
    here = board()
    here.shows("q leaves.")
    here.press("\x1a")
    here.says("Stopped", "ready$")
    assert here.raw.rfind(LEAVES) > here.raw.rfind(OPENS)
    here.press("fg\r")
    here.shows("School roof", "q leaves.")
    here.press("q")
    here.says("ready$")


def test_high_contrast_has_no_colour_and_linear_no_drawing(board: Any) -> None:
    """Bold and reverse only; read out, a line a thing and nothing written over."""
    here = board(WELDCAL_SCREEN="linear")
    said = here.says("q leaves.")
    assert "\x1b" not in here.raw.partition("School roof")[2]
    assert "█" not in said
    assert "Go-ahead S2 stands: 5.5 ft/min, nozzle 932 °F." in said
    here.press("q")
    here.left(0, drawn=False)


def test_a_key_does_the_step_of_the_guided_day_and_comes_back(board: Any, morning: Any) -> None:
    """Looking records nothing; the step records what the day would, and the board has it."""
    before = len(morning.entries())
    here = board()
    here.shows("q leaves.")
    assert len(morning.entries()) == before
    here.press("l")
    here.says("A1 is being welded (R1). Now")
    here.press("check\r8\r1/4,1/4\r\r")
    here.says("Same as: weldcal bleed A1 8 1/4,1/4", "Enter goes on, q leaves:")
    here.press("\r")
    here.shows("1 bleed check.", "q leaves.")
    assert [e["kind"] for e in morning.entries()[before:]] == ["bleed"]
    here.press("q")
    here.left(0)


def test_enter_opens_what_comes_next_and_records_nothing_by_itself(
    board: Any, morning: Any
) -> None:
    """A step left half way is said to be begun, and is taken up."""
    before = len(morning.entries())
    here = board()
    here.shows("Enter lap; ")
    here.press("\r")
    here.says("A1 is being welded (R1). Now")
    here.press("check\rq\r")
    here.shows("Waits: begun and not finished: lap.", "Enter lap")
    here.press("\r")
    here.says("Taken up where it was left:", "Checked at")
    assert len(morning.entries()) == before
    here.silent(0.5)  # a signal between the prompt and Python's read would wait for the next key
    here.press("\x03")
    here.shows("q leaves.")
    here.press("\x03")
    here.left(130)


def test_the_sheet_now_in_one_number(board: Any, morning: Any) -> None:
    """What `weldcal now` does; a slip is told and asked for no further."""
    here = board()
    here.shows("q leaves.")
    here.press("n")
    here.says("Sheet's surface:")
    here.press("hot\r")
    here.says("'hot' is not a number", "Enter goes on, q leaves:")
    here.press("\r")
    here.shows("q leaves.")
    here.press("n")
    here.press("110\r")
    here.says("Same as: weldcal now 110", "Set ", "Enter goes on, q leaves:")
    here.press("q\r")
    here.left(0, drawn=False)
    assert morning.entries()[-2]["kind"] == "conditions"


def test_a_lapse_rings_once_and_nothing_is_written_while_nothing_changes(
    board: Any, morning: Any, tmp_path: Path
) -> None:
    """The go-ahead asks for a look when its time is up, on the minute; a slow link stays quiet."""
    by = datetime.fromisoformat(morning.ok("board --json").json["go_ahead"]["look_again_by"])
    here = board()
    here.shows("Weld: go-ahead S2", "q leaves.")
    here.raw = ""
    ahead(tmp_path, by - timedelta(minutes=3))
    here.shows("Read the sheet now", "3 min left", "q leaves.")
    here.silent(1)  # the reading, too old by then for its speed, has rung
    assert here.raw.count("\a") == 1
    here.raw = ""
    ahead(tmp_path, by + timedelta(seconds=5))
    here.shows("look (", "q leaves.")
    here.silent(4)
    assert here.raw.count("\a") == 1
    here.press("q")
    here.left(0)


def test_what_another_window_records_is_on_it(board: Any, morning: Any) -> None:
    """Within a few seconds, with no key pressed; told once on a linear screen."""
    here = board(WELDCAL_SCREEN="linear")
    here.says("q leaves.")
    here.raw = ""
    morning.clock.set("07:12")
    morning.ok("bleed A1 8 1/4,1/4")
    said = here.says("1 bleed check.")
    assert said.count("Lap A1") == 1
    assert "Set 5.5" not in said
    here.press("q")
    here.left(0, drawn=False)


def test_dial_and_now_are_large_where_there_is_room_and_end_with_the_answer(
    morning: Any, terminal: Callable[..., Any]
) -> None:
    """From 60 columns and 24 rows; not on a linear or a plain terminal, nor into a pipe."""
    here = terminal(80, 24, TERM="xterm-256color")

    def said(line: str, columns: int, rows: int) -> list[str]:
        here.asked()
        here.child.setwinsize(rows, columns)
        here.type(line)
        return [row.rstrip() for row in here.asked().splitlines()[1:-1]]

    for line in ("weldcal dial", "weldcal now 74F"):
        large = said(line, 80, 24)
        assert large[0] == "██████      ██████   ft/min"
        assert large[4].endswith("WELD")
        assert large[5] == ""
        assert large[6].startswith(("Set 5.5 ft/min", "5.5 ft/min as before"))
        assert large[-1].startswith("Weld: go-ahead S2 stands until ")
    for columns, rows in ((80, 23), (59, 24), (40, 20)):
        assert said("weldcal dial", columns, rows)[0].startswith("Set 5.5 ft/min")
    for line in (
        "weldcal --screen linear dial",
        "TERM=dumb weldcal dial",
        "weldcal dial | cat",
        "weldcal dial < /dev/null",
    ):
        assert said(line, 80, 24)[0].startswith("Set 5.5 ft/min"), line
