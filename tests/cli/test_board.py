"""The board's answers are those of `dial`, `go-ahead` and the day; looking records nothing; it fits any screen."""

from __future__ import annotations

import os
import shlex
import signal
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import JOB, STRIP
from weldcal.book import Book
from weldcal.book.boards import board as looked
from weldcal.reports import board as page
from weldcal.reports import digits

READ = "conditions --ambient 61F --sheet-temp 74F"
FROST = "conditions --ambient 15F --wind 40mph"
DEAD = """
    07:35 seam start A1 --nozzle 932 --speed 5.5
    07:40 bleed A1 8 0,0
    07:45 bleed A1 16 0,0
    07:50 bleed A1 24 0,0
"""
MORNINGS = {
    "nothing yet": "",
    "read": f"07:00 {READ}",
    "a strip to pull": f"07:00 {READ}\n07:10 {STRIP}",
    "a go-ahead": f"07:00 {READ}\n07:10 {STRIP}\n07:30 strip pull S1 good",
    "an old reading": f"06:00 {READ}\n06:10 {STRIP}\n06:30 strip pull S1 good\n09:00 cautions",
    "warmed": f"07:00 {READ}\n07:10 {STRIP}\n07:30 strip pull S1 good\n08:30 now 96F",
    "frost": f"07:00 {FROST}",
    "dead checks": f"07:00 {READ}\n07:10 {STRIP}\n07:30 strip pull S1 good\n{DEAD}",
}


@pytest.mark.parametrize("morning", MORNINGS)
def test_the_board_answers_as_the_plain_commands_do(job: Any, morning: str) -> None:
    """One rule for one question; nothing is recorded by looking, nor kept on the device."""
    job.day(MORNINGS[morning])
    before = job.entries()
    shown = job.ok("board --once").out
    found = job.ok("board --json").json
    assert job.entries() == before
    stands = job("go-ahead --json").json
    assert found["go_ahead"]["level"] == stands["level"]
    assert found["go_ahead"]["strip"] == stands["strip"]
    told = job("day --for operator").out
    if stands["level"] in ("good", "strip_again", "wait"):
        assert next(row for row in told.splitlines() if "o-ahead" in row or "WAIT" in row) in shown
    dialled = job.ok("dial --json").json
    for name in ("speed_m_per_min", "dial_mark", "nozzle_set_c", "sure", "later_today"):
        assert found[name] == dialled[name], name


@pytest.mark.parametrize("morning", MORNINGS)
def test_its_three_lines_are_those_of_dial(job: Any, morning: str) -> None:
    """Word for word, in that order; before the advice is on record as after."""
    job.day(MORNINGS[morning])
    job.ok("dial")
    shown = job.ok("board --once").out
    assert " ".join(job.ok("dial").out.split()) in " ".join(shown.split())


def test_it_says_what_waits_and_what_is_old(job: Any) -> None:
    """The pull; a reading over its limit; a lap whose check was outside."""
    job.day(f"07:00 {READ}\n07:10 {STRIP}")
    assert "Waits: pull S1 when it is cold." in job.ok("board --once").out
    job.clock.set("09:30")
    found = job.ok("board --json").json
    assert [one["old"] for one in found["readings"]] == [True, True]
    assert "ago, OLD: " in job.ok("board --once").out
    job.day("09:31 strip pull S1 good\n09:32 seam start A1 --nozzle 932 --speed 5.5")
    assert "No bleed check yet." in job.ok("board --once").out
    job.day("09:34 bleed A1 8 0,0")
    assert "The last check was outside the limits: stop and look." in job.ok("board --once").out


def test_where_a_lap_is_by_its_speed(go_ahead: Any) -> None:
    """5.5 ft/min: 11 ft after two minutes, and never past the listed end of 33 ft."""
    go_ahead.day("07:10 seam start A1 --nozzle 932 --speed 5.5")
    go_ahead.clock.set("07:12")
    assert "By its speed about 11 ft now." in go_ahead.ok("board --once").out
    (lap,) = go_ahead.ok("board --json").json["in_work"]
    assert lap["about_m"] == pytest.approx(11 * 0.3048)
    go_ahead.clock.set("07:20")
    assert "By its speed it is at the end, 33." in go_ahead.ok("board --once").out


def test_it_is_about_the_machine_in_work_and_one_that_is_named(weldcal: Any) -> None:
    """Of two machines the one that welds; another where it is asked for; none such is refused."""
    weldcal.ok(JOB.replace("--person", '--machine "red: ft/min 1-20 step 0.5" --person', 1))
    weldcal.ok('me "Ana Ruiz"')
    weldcal.ok(READ)
    assert "--machine" in weldcal.ok("board --once").out  # which, nobody knows yet
    weldcal.ok(STRIP.replace("strip record", "strip record --machine blue"))
    weldcal.ok("seam start A1 --machine red --nozzle 932 --speed 5.5")
    assert weldcal.ok("board --json").json["machine"] == "red"
    assert weldcal.ok("board --json --machine blue").json["machine"] == "blue"
    assert "green" in weldcal.refused("board --once --machine green")


@pytest.mark.parametrize(("morning", "word"), [("frost", "WAIT"), ("dead checks", "STOP")])
def test_a_stop_or_a_wait_stands_large_in_place_of_a_number(
    job: Any, morning: str, word: str
) -> None:
    """No speed beside them, nor a step to come."""
    job.day(MORNINGS[morning])
    rows = _screen(job, 80, 24)
    large = [row for row in rows if "██" in row]
    assert large == [row for row in digits.drawn(word, (), 80, len(large)) if row]
    assert "Later today" not in job.ok("board --once").out
    job.day("+\n07:00 conditions --ambient 61F --sheet-temp 74F --wind 3mph")
    job.ok(STRIP)
    assert "ft/min" in next(row for row in _screen(job, 80, 24) if "██" in row)


def _screen(job: Any, columns: int, rows: int) -> list[str]:
    book = Book(job.book, clock=job.clock)
    keys = ("Enter lap; c conditions, q leaves.", "? keys, q leaves.")
    found = page.screen(looked(book), page.Todo(next="lap"), keys, (columns, rows))
    book.close()
    return [row.text for row in found]


@given(columns=st.integers(12, 140), rows=st.integers(3, 60))
def test_on_every_screen_it_fits_and_begins_with_what_presses_most(
    _welding: Any, columns: int, rows: int
) -> None:
    """Never a row or a column too many; the answer is the last thing to be left out."""
    found = [row.text for row in page.screen(*_welding, (columns, rows))]
    assert len(found) <= rows
    assert max(map(len, found)) <= columns
    if columns >= 20:
        answer = [one for one in page.lines(*_welding[:2]) if one.part == page._ANSWER]
        whole = " ".join(" ".join(one.text for one in answer).split())
        text = " ".join(" ".join(found).split())
        assert whole.startswith(text) or whole in text
    if columns <= 40 and rows <= 10:
        assert "██" not in "".join(found)


@pytest.fixture(scope="module")
def _welding(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """A board with every line on it, and its keys."""
    import contextlib
    import io

    from tests.conftest import Clock
    from weldcal.cli.main import main

    path, clock = tmp_path_factory.mktemp("welding") / "book.sqlite", Clock()
    lines = (JOB, 'me "Ana Ruiz"', "seam add A1-A3 --length 33ft", READ, STRIP)
    with contextlib.redirect_stdout(io.StringIO()):
        for line in (*lines, "seam start A1 --nozzle 932 --speed 5.5"):
            assert main(["--book", str(path), *shlex.split(line)], clock=clock) == 0
    book = Book(path, clock=clock)
    keys = ("Enter lap; c conditions, s strip, p pull, l lap; q leaves.", "? keys, q leaves.")
    todo = page.Todo(next="lap", begun="strip", later=("cautions",))
    yield looked(book), todo, keys
    book.close()


LARGE = r"\A([0-9]{1,2}([.,][0-9]{1,2})?|STOP|WAIT|PARE|ESPERAR)\Z"


@given(st.from_regex(LARGE), st.integers(1, digits.LARGEST))
def test_what_is_large_can_be_read_back(number: str, size: int) -> None:
    """Every sign has a shape of its own, at every size."""
    lines = digits.drawn(number, (), 200, digits.ROWS * size)
    assert len(lines) == digits.ROWS * size
    wide = max(map(len, lines))
    small = [line.ljust(wide)[:: 2 * size] for line in lines[::size]]
    seen = ""
    while any(row.strip() for row in small):
        fits = [
            sign
            for sign, shape in digits._SHAPES.items()
            if all(
                row[: len(part) + 1].ljust(len(part) + 1).replace("█", "#") == f"{part} "
                for row, part in zip(small, shape, strict=True)
            )
        ]
        assert len(fits) == 1, (seen, fits)
        seen += fits[0]
        small = [row[len(digits._SHAPES[fits[0]][0]) + 1 :] for row in small]
    assert seen == number


def test_what_has_no_shape_or_no_room_is_not_drawn() -> None:
    """Nor on a screen that is too narrow by one column."""
    assert digits.drawn("1e5", (), 80, 20) == []
    assert digits.drawn("", (), 80, 20) == []
    assert digits.drawn("5.5", (), 80, digits.ROWS - 1) == []
    assert len(digits.drawn("8", ("ft/min",), 15, 5)) == digits.ROWS
    assert digits.drawn("8", ("ft/min",), 14, 5) == []


def test_into_a_pipe_it_says_what_changes_until_it_is_ended(go_ahead: Any, tmp_path: Any) -> None:
    """No control signs; a line for a change; TERM ends it as broken off."""
    go_ahead.day(f"07:00 {READ}")
    program = [sys.executable, "-c", "from weldcal.cli.start import run; run()"]
    env = {**os.environ, "WELDCAL_BOOK": str(go_ahead.book)}
    with subprocess.Popen(
        [*program, "board"], stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, env=env, text=True
    ) as run:
        assert run.stdout is not None
        first = run.stdout.readline()
        assert first.startswith("School roof, ")
        said = []
        go_ahead.ok('person add "Cleo Vann: CV, foreman"')  # nothing the board shows
        go_ahead.ok("seam start A2 --nozzle 932 --speed 5.5")
        while not any("Lap A2" in row for row in said):
            said.append(run.stdout.readline())
            assert said[-1]
        run.send_signal(signal.SIGTERM)
        said.append(run.stdout.read())
        assert run.wait(timeout=30) == 130
    assert "\x1b" not in "".join(said)
    assert sum("Set " in row for row in said) <= 1


def test_only_the_board_waits_for_what_draws_it(
    go_ahead: Any, fresh: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    """rich.live is loaded by no other command of the operator's day."""
    tell = "import atexit, sys; atexit.register(lambda: print('rich.live' in sys.modules))"
    for line in ("", "now 80F", "board --once"):
        assert fresh(line, before=tell).stdout.splitlines()[-1] == "False", line
