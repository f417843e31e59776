"""What Enter alone does not do. The rules are ours: site setting, no source."""

from __future__ import annotations

import builtins
import contextlib
import io
import json
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.conftest import STRIP, Clock
from weldcal.cli import guide
from weldcal.cli.main import main

Sit = Callable[..., Any]
# Kinds that say that something was welded or looked at.
SEEN = (
    *("strip", "pull", "run", "run-finish", "bleed", "conditions"),
    *("hot-work", "hot-work-end", "watch", "roll", "peel", "cover"),
)


class Morning:
    """One book and clock, driven in this process; `typed` answers the guided day's questions."""

    def __init__(self, school: Path, folder: Path) -> None:
        self.book = folder / "book.sqlite"
        shutil.copyfile(school, self.book)
        self.clock = Clock()
        self.shown = ""

    def run(self, line: str) -> str:
        """One plain command that must do its work, where nothing stands against it."""
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            code = main(["--book", str(self.book), *shlex.split(line)], clock=self.clock)
        assert code in (0, 1) or line in MAY_BE_REFUSED, line
        return out.getvalue()

    def guided(self, typed: list[str], then_enter: int = 0, role: str = "operator") -> None:
        """Somebody's day with these answers, then Enter so many times; then the terminal is gone."""
        answers = iter([*typed, *[""] * then_enter])
        self.shown = ""

        def asked(prompt: str = "") -> str:
            self.shown += prompt + "\n"
            self.clock.moment += timedelta(seconds=20)
            with contextlib.suppress(StopIteration):
                return next(answers)
            raise EOFError

        real, builtins.input = builtins.input, asked
        out = io.StringIO()
        try:
            with contextlib.redirect_stdout(out), contextlib.suppress(guide.PersonLeft, EOFError):
                guide._guided(guide.DayBook(self.book, clock=self.clock), role)
        finally:
            builtins.input = real

    def kinds(self) -> list[str]:
        """Kinds of all entries that say something was seen."""
        import sqlite3

        with contextlib.closing(sqlite3.connect(self.book)) as book:
            rows = book.execute("SELECT kind FROM entries ORDER BY tick").fetchall()
        return [kind for (kind,) in rows if kind in SEEN]


@contextlib.contextmanager
def morning(school: Path) -> Iterator[Morning]:
    """A morning of its own."""
    with tempfile.TemporaryDirectory() as folder:
        yield Morning(school, Path(folder))


FEW = settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
STEPS = st.sampled_from(
    [
        "conditions --ambient 61F --sheet-temp 74F",
        "conditions --ambient 84F --sheet-temp 112F",
        STRIP + " --bond good",
        STRIP,
        "strip record --nozzle 932 --speed 8 --bleed 0,0 --bubbling none --bond cold",
        "seam start A1 --nozzle 932 --speed 5.5",
        "bleed A1 3 1/4,3/16",
        "bleed A1 5 0,0",
        "seam finish A1 --to 8",
        "seam finish A1 --to 9 --power-lost",
        "dial",
        "hotwork start --permit 4711 --extinguisher X --deck steel --watch 30min --watch-source code",
        "hotwork end",
        "roll add L-1",
        "seam start A2 --nozzle 932 --speed 5.5 --roll-lot L-2",
        "seam add D1 --kind detail --length 3ft",
        "cover A3",
        "conditions --ambient 44F --sheet-temp 48F --wind 18mph --humidity 90",
    ]
)
# There may be no hot work yet; the lap may be listed, or hidden, already.
MAY_BE_REFUSED = ("hotwork end", "cover A3", "seam add D1 --kind detail --length 3ft")
PAUSES = st.sampled_from([2, 20, 45, 130, 320])


@FEW
@given(
    st.lists(st.tuples(STEPS, PAUSES), min_size=1, max_size=7),
    st.sampled_from(["operator", "foreman"]),
)
def test_enter_for_ever_records_nothing_that_somebody_should_have_seen(
    _school: Path, day: list[tuple[str, int]], role: str
) -> None:
    """Whatever the morning was: no strip, pull, check, reading or lap's end; a lap begun only on GOOD."""
    with morning(_school) as one:
        for line, pause in day:
            one.run(line)
            one.clock.moment += timedelta(minutes=pause)
        before = one.kinds()
        level = good(one)
        one.guided([], then_enter=30, role=role)
        new = one.kinds()[len(before) :]
        assert new in ([], ["run"])
        if new:
            assert level


def good(one: Morning) -> bool:
    """Whether a go-ahead stands that nothing speaks against."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        code = main(["--book", str(one.book), "go-ahead", "--json"], clock=one.clock)
    return code == 0 and json.loads(out.getvalue())["level"] == "good"


WEATHER = st.tuples(st.integers(38, 95), st.integers(40, 140), st.sampled_from(["", "3mph"]))


@FEW
@given(st.lists(st.tuples(STEPS, PAUSES), max_size=3), WEATHER, st.sampled_from(["932", "880"]))
def test_the_speed_offered_is_the_advice_for_what_was_just_typed(
    _school: Path, day: list[tuple[str, int]], typed: tuple[int, int, str], nozzle: str
) -> None:
    """Weather typed anew within a strip: `dial` with the same words says the same speed."""
    with morning(_school) as one:
        one.run("conditions --ambient 43F --sheet-temp 43F --wind 3mph --humidity 50")
        for line, pause in day:
            one.run(line)
            one.clock.moment += timedelta(minutes=pause)
        one.clock.moment += timedelta(minutes=40)
        air, sheet, wind = typed
        kept = [wind or "same", "same"]  # old or not, both are taken: the other is asked again
        words = ["", "b", "strip"] if first_is_a_step(one) else ["", "strip"]
        one.guided([*words, "no", str(air), str(sheet), *kept, nozzle])
        asked = re.findall(r"Speed on the dial(?: \[(.*?)\])?:", one.shown)
        assert asked, one.shown
        line = f"dial --json --ambient {air} --sheet-temp {sheet} --nozzle {nozzle}"
        advice = json.loads(one.run(line + (f" --wind {wind}" if wind else "")))
        tried = advice["next_strip"] or advice["forecast"]
        assert asked[-1] == ("" if tried is None else on_dial(tried["speed_m_per_min"]))


def on_dial(m_per_min: float) -> str:
    """The mark next to a speed, on a dial of ft/min in steps of 0.5."""
    return f"{round(m_per_min / 0.3048 * 2) / 2:g}"


def first_is_a_step(one: Morning) -> bool:
    """Whether something comes next, so that `b` leads to the list."""
    return "Next: " in one.run("day")


@pytest.fixture(autouse=True)
def _english(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)


def test_enter_never_passes_a_bad_check(go_ahead: Any, terminal: Sit) -> None:
    """After a check outside the limits, Enter for ever finishes no lap and starts none."""
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5")
    go_ahead.ok("bleed A1 14 0,0")
    before = [entry["kind"] for entry in go_ahead.entries()]
    t = terminal()
    t.type("weldcal", *[""] * 12)
    t.asked("finish, check")
    assert "Now (finish, check): " in t.last
    assert [entry["kind"] for entry in go_ahead.entries()] == before


def test_a_reading_of_four_hours_ago_is_not_still_so_by_enter(go_ahead: Any, terminal: Sit) -> None:
    """Over its limit, a reading is kept by a word; the new weather brings a speed of its own."""
    go_ahead.ok("conditions --ambient 43F --sheet-temp 43F")
    go_ahead.ok("dial")
    go_ahead.clock.set("11:10")
    t = terminal()
    t.type("weldcal", "", "b", "strip", "", "")
    t.asked("Still so?")
    assert "[yes]" not in t.last
    t.type("no", "")
    t.asked("type same")
    t.type("80", "110", "", "", "")
    t.asked("Speed on the dial [")
    offered = float(re.findall(r"\[([\d.]+)\]", t.last)[-1])
    asked = go_ahead.ok("dial --json --ambient 80 --sheet-temp 110 --nozzle 932").json
    assert offered == (asked["next_strip"] or asked["forecast"])["speed_m_per_min"] / 0.3048


def test_a_number_alone_finishes_the_lap_and_two_are_a_check(go_ahead: Any, terminal: Sit) -> None:
    """At `Now (finish, check)`: a place and widths, then a place."""
    go_ahead.ok("conditions --ambient 61F --sheet-temp 74F")
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5")
    t = terminal(40)
    t.type("weldcal", "", "14 1/4 3/16", "b", "14 1/4,3/16", "", "33")
    t.asked("Weld next")
    t.type("q")
    t.asked("ready$")
    (check,) = go_ahead.query("SELECT at_m FROM bleeds")
    assert check["at_m"] == pytest.approx(14 * 0.3048)
    assert go_ahead.seam("A1")["state"] == "unprobed"


def test_the_pulls_word_at_the_menu_is_the_pull(job: Any, terminal: Sit) -> None:
    """`good` where it is asked what to do: the strip that waits."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    job.ok(STRIP)
    job.clock.set("07:14")
    t = terminal()
    t.type("weldcal", "", "b", "good", "", "")
    t.asked("Weld next")
    t.type("q")
    t.asked("ready$")
    assert job.query("SELECT bond FROM strips")[0]["bond"] == "good"


def test_without_a_good_go_ahead_a_lap_is_begun_by_yes_typed(job: Any, terminal: Sit) -> None:
    """Enter at the last question of a lap's start is asked again."""
    job.ok("conditions --ambient 61F --sheet-temp 74F")
    t = terminal()
    t.type("weldcal", "", "b", "start", "A1", "932", "5.5", "", "")
    t.asked("all the same? Type yes")
    assert job.query("SELECT * FROM runs") == []
    t.type("yes")
    t.asked()
    t.type("q")
    t.asked("ready$")
    assert len(job.query("SELECT * FROM runs")) == 1


def test_a_stray_word_is_not_somebody_new(job: Any, terminal: Sit) -> None:
    """At `Who is working?` it is asked about; back and no ask again who it is."""
    t = terminal()
    t.type("weldcal", "61 degrees", "no")
    t.asked("Who is working?")
    t.type("strip", "b")
    t.asked("Who is working?")
    t.type("Cleo Vann", "yes")
    t.asked("Cleo Vann today is")
    t.type("b")
    t.asked("Who is working?")
    t.type("ana")
    t.asked("Air")
    t.type("q")
    t.asked("ready$")
    assert [e["kind"] for e in job.entries()].count("person") == 2
    assert job.ok("machine list").code == 0


def test_an_answer_is_mended_with_arrows_and_brought_back(job: Any, terminal: Sit) -> None:
    """Left and a missing digit; arrow up is what was typed before."""
    t = terminal(TERM="xterm")
    t.type("weldcal", "", "6\x1b[D5", "74", "\x1b[A", "q")  # 6, left, 5: 56; 74 once more
    t.asked("ready$")
    assert "^[[D" not in t.seen
    (path,) = job.book.parent.glob("*.draft-*")
    kept = json.loads(path.read_text())
    assert [answer["text"] for answer in kept["answers"]] == ["56", "74", "74"]


@pytest.mark.parametrize("typed", ["5 1/2\t", "st\t"])
def test_tab_does_no_harm(job: Any, terminal: Sit, typed: str) -> None:
    """Nothing to complete: nothing happens; one word begun: it is whole."""
    t = terminal(TERM="xterm")
    t.type("weldcal", "", "b", typed)
    t.asked()
    t.type("q")
    t.asked("ready$")
    assert "Traceback" not in t.seen
