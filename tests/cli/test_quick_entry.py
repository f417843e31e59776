"""A strip, and a walk, in one short line: shown in words before it counts, the rest taken over and said so."""

from __future__ import annotations

import os
import re
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import pexpect
import pytest

STRIP = "weldcal strip 5.5 1/4 3/16 1/4 5/16 none"
WALK = "weldcal probe A2"
Spawn = Callable[..., Any]


@pytest.fixture
def morning(job: Any) -> Any:
    """Conditions read at 07:05, a strip at 932 F, a go-ahead; now it is 07:45."""
    job.day(
        """
        07:05 conditions --ambient 61F --sheet-temp 74F --wind 5mph
        07:10 strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none --bond good
        """
    )
    job.clock.set("07:45")
    return job


@pytest.fixture
def terminal(morning: Any) -> Iterator[Spawn]:
    """The program at a terminal of so many columns, typed at; on its own clock."""
    spawned = []
    around = {name: value for name, value in os.environ.items() if name != "COLUMNS"}

    def spawn(line: str, columns: int = 80) -> Any:
        words = [
            "-c",
            "from weldcal.cli.main import run; run()",
            "--book",
            str(morning.book),
            *line.split()[1:],
        ]
        child = pexpect.spawn(
            sys.executable,
            words,
            encoding="utf-8",
            timeout=20,
            dimensions=(40, columns),
            env=around,
        )
        spawned.append(child)
        return child

    yield spawn
    for child in spawned:
        child.close(force=True)


def left(child: Any) -> int:
    child.expect(pexpect.EOF)
    child.close()
    return int(child.exitstatus)


def test_a_whole_strip_is_one_short_line(terminal: Spawn, morning: Any) -> None:
    """Four readings, the line and two presses of Enter: at most 45 keystrokes, counted from what is typed."""
    typed = f"{STRIP}\n"
    child = terminal(STRIP)
    child.expect("Enter to keep it[^>]*> $")
    child.sendline("")
    assert left(child) == 0
    assert len(f"{typed}\n") <= 45
    strip = [e["payload"] for e in morning.entries() if e["kind"] == "strip"][-1]
    assert [r["text"] for r in strip["readings"]] == ["1/4", "3/16", "1/4", "5/16"]
    assert strip["setting"]["nozzle"] == {"text": "932", "number": "932", "unit": "F"}


def test_q_leaves_and_records_nothing(terminal: Spawn, morning: Any) -> None:
    """As at any question of the day; a code that says it was left."""
    before = morning.entries()
    child = terminal(STRIP)
    child.expect("Enter to keep it[^>]*> $")
    child.sendline("Q")
    assert left(child) == 130
    assert morning.entries() == before


def test_what_was_not_typed_is_taken_over_and_said_with_its_age(morning: Any) -> None:
    """In the words shown, and in what is recorded."""
    shown = morning.ok(f"{STRIP.removeprefix('weldcal ')} --yes").out
    for text in (
        "speed 5.5 ft/min",
        "nozzle 932 °F, as on S1 (35 min ago)",
        "readings 1/4, 3/16, 1/4, 5/16 in",
        "bubbling none",
        "pull not tried",
        "machine blue, sheet base",
        "ambient 61 °F, read at 07:05 (40 min old): carried over",
    ):
        assert text in shown
    strip = morning.entries()[-1]["payload"]
    at = {part["name"]: part["read_at"][11:16] for part in strip["setting"]["carried"]}
    assert at == {"nozzle": "07:10", "lap": "07:10"}
    assert {c["name"]: c["read_at"][11:16] for c in strip["conditions"]["carried"]} == {
        "ambient": "07:05",
        "sheet_temp": "07:05",
        "wind": "07:05",
    }


def test_it_is_as_on_the_strip_made_last_with_all_that_was_set(morning: Any) -> None:
    """The nozzle's width, the air and the roller too; last is what was seen last, however late it was typed."""
    set_so = "--nozzle 900 --air-flow 60 --nozzle-width 4in --roller-load 60lbf"
    morning.ok(f"strip record --speed 6 --bleed 1/4 --bubbling none {set_so}")
    morning.ok("strip record --speed 4 --bleed 1/4 --bubbling none --nozzle 850 --at 06:30")
    shown = morning.ok("strip 5.5 1/4 1/4 none --yes").out
    assert "as on S2" in shown
    setting = morning.entries()[-1]["payload"]["setting"]
    names = ("nozzle", "air_flow", "nozzle_width", "roller_load")
    assert [setting[name]["text"] for name in names] == ["900", "60", "4in", "60lbf"]
    assert {part["name"] for part in setting["carried"]} == {*names, "lap"}


def test_what_was_typed_is_not_said_to_be_carried_over(morning: Any) -> None:
    """A nozzle and a lap typed are this strip's own."""
    morning.ok("strip 5.5 1/4 1/4 1/4 none nozzle 900 granules ambient 80F --yes")
    strip = morning.entries()[-1]["payload"]
    assert "carried" not in strip["setting"]
    assert "ambient" not in {c["name"] for c in strip["conditions"]["carried"]}
    assert (strip["setting"]["nozzle"]["text"], strip["setting"]["lap"]) == ("900", "granules")


def test_the_line_records_what_the_options_record(morning: Any) -> None:
    """One strip typed both ways: the rows differ in name, order and what was taken over only."""
    morning.ok("strip 6 1/4 3/16 1/4 trace 900F pull good selvage --yes")
    morning.ok(
        "strip record --speed 6 --bleed 1/4,3/16,1/4 --bubbling trace --nozzle 900F --bond good"
    )
    one, other = (dict(row) for row in morning.query("SELECT * FROM strips ORDER BY tick")[1:])
    for name in ("id", "tick", "name"):
        del one[name], other[name]
    assert one == other


@pytest.mark.parametrize("line", ["strip 5.5 1/4 1/4 1/4 none", "probe A1 sound to 33", "probe A1"])
@pytest.mark.parametrize("json", ["", " --json"])
def test_with_nobody_to_confirm_it_nothing_is_recorded(morning: Any, line: str, json: str) -> None:
    """Exit code 2, the words shown where they were asked for, and what to add."""
    before = morning.entries()
    done = morning(line + json)
    assert done.code == 2
    assert "--yes" in done.err
    assert (done.out == "") is bool(json)
    assert morning.entries() == before


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("strip 5.5 1/4 bubbly none --yes", "bubbly"),
        ("strip 5.5 none --yes", "readings"),
        ("strip 5.5 1/4 none machine red --yes", "nozzle"),
        ("probe A1 sound to 33, crack 4 --yes", "crack"),
        ("probe B9 --yes", "sound to 33"),
        ("strip 200 1/4 none --yes", "travel speed"),
        ("strip lsit", "lsit"),
    ],
)
def test_a_line_that_is_not_understood_is_refused_by_the_very_word(
    morning: Any, line: str, named: str
) -> None:
    """One sentence, exit code 2, nothing recorded."""
    before = morning.entries()
    done = morning(line)
    assert done.code == 2
    assert named in done.err
    assert "Traceback" not in done.err
    assert morning.entries() == before


def test_the_first_strip_of_a_job_names_its_nozzle(job: Any) -> None:
    """There is nothing yet to take it from."""
    assert "nozzle 932" in job("strip 5.5 1/4 1/4 1/4 none --yes").err
    shown = job.ok("strip 5.5 1/4 1/4 1/4 none 932 --yes").out
    assert "Never type while the machine travels" in " ".join(shown.split())
    assert "as on" not in shown


def test_of_two_machines_the_line_takes_the_last_ones_and_says_so(morning: Any) -> None:
    """Named, it is that machine's last strip that counts."""
    morning.ok('machine add "red: m/min 0.5-6 step 0.1"')
    assert "machine blue, sheet base, as on S1" in morning.ok("strip 5.5 1/4 none --yes").out
    assert "nozzle" in morning("strip 1.7 1/4 none red --yes").err
    morning.ok("strip 1.7 1/4 none red 500C --yes")
    (row,) = morning.query("SELECT speed_unit, machine FROM strips ORDER BY tick DESC LIMIT 1")
    assert tuple(row) == ("m/min", "red")


def test_what_is_wrong_is_typed_at_the_prompt(terminal: Spawn, morning: Any) -> None:
    """Shown again, changed there only; a bad word is asked again."""
    child = terminal(STRIP)
    child.expect("nozzle 932[^>]*> $")
    child.sendline("900 fast")
    child.expect("'fast' is not understood")
    child.sendline("nozzle 900, pull good")
    child.expect(r"nozzle 900 °F\r")
    child.expect("pull good[^>]*> $")
    child.sendline("")
    assert left(child) == 0
    (row,) = morning.query(
        "SELECT nozzle_text, bond, readings_n FROM strips ORDER BY tick DESC LIMIT 1"
    )
    assert tuple(row) == ("900", "good", 4)


@pytest.mark.parametrize("line", [STRIP, WALK])
def test_leaving_at_the_prompt_records_nothing(terminal: Spawn, morning: Any, line: str) -> None:
    """Ctrl-C: one plain line, no entry."""
    before = morning.entries()
    child = terminal(line)
    child.expect("Enter to keep it[^>]*> $")
    time.sleep(0.5)  # a signal between the prompt and Python's read would wait for the next key
    child.sendcontrol("c")
    assert left(child) == 130
    assert "not recorded" in child.before
    assert morning.entries() == before


@pytest.mark.parametrize(
    "line", [STRIP, f"{WALK} sound to 33, void 14.5 3in x 1/2in, fishmouth 20"]
)
def test_forty_columns_hold_every_line_shown(terminal: Spawn, line: str) -> None:
    """No row overruns a phone's terminal."""
    child = terminal(line, columns=40)
    child.expect("> $")
    child.sendline("")
    child.expect(pexpect.EOF)
    shown = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", child.before).replace("\r", "")
    assert [row for row in shown.splitlines() if len(row) > 40] == []


def test_a_clean_walk_is_the_seams_name_and_enter(terminal: Spawn, morning: Any) -> None:
    """The whole listed length, said to be so."""
    child = terminal(WALK)
    child.expect(r"0 ft to 33 ?ft \(its listed length\)")
    child.expect("> $")
    child.sendline("")
    assert left(child) == 0
    (walk,) = [e["payload"] for e in morning.entries() if e["kind"] == "walk"]
    assert (walk["start"]["number"], walk["end"]["number"], walk["end"]["unit"]) == (
        "0",
        "33",
        "ft",
    )


@pytest.mark.parametrize(
    "line",
    [
        "sound to 33, void 14.5 3in x 1/2in",
        '"sound to 33, void 14.5 3in x 1/2in"',
        "bien hasta 33, hueco 14.5 3in por 1/2in",
    ],
)
def test_a_walk_in_words_records_what_the_options_record(morning: Any, line: str) -> None:
    """With and without quotes, in Spanish too."""
    shown = morning.ok(f"probe A1 {line} --by BO --yes").out
    assert "void at 14.5 ft, 3 in long, 1/2 in deep" in shown
    morning.ok('probe A1 0-33 --void "14.5+3in x 1/2in" --by BO')
    for table in ("walks", "findings"):
        one, other = (dict(row) for row in morning.query(f"SELECT * FROM {table} ORDER BY tick"))
        for name in ("id", "tick", "name", *(["walk"] if table == "findings" else [])):
            del one[name], other[name]
        assert one == other


def test_the_times_of_a_walk_are_kept_as_typed(morning: Any) -> None:
    """Begun and ended, on the job's clock."""
    morning.clock.set("13:30")
    shown = morning.ok("probe A1 13:10 to 13:20 sound to 33 --by BO --yes").out
    assert "begun 13:10, ended 13:20" in shown
    (walk,) = [e["payload"] for e in morning.entries() if e["kind"] == "walk"]
    assert (walk["started"][11:16], walk["ended"][11:16], walk["seen"]["at"][11:16]) == (
        "13:10",
        "13:20",
        "13:20",
    )


def test_what_a_walk_mends_at_the_prompt_is_the_whole_line(terminal: Spawn, morning: Any) -> None:
    """Typed anew, shown anew."""
    child = terminal(f"{WALK} sound to 3")
    child.expect("0 ft to 3 ft[^>]*> $")
    child.sendline("sound to 30, void 3 1in")
    child.expect("0 ft to 30 ft")
    child.expect("> $")
    child.sendline("")
    assert left(child) == 0
    (row,) = morning.query("SELECT kind, how FROM findings")
    assert tuple(row) == ("void", "probed")
