"""The operator asked for what is missing: in a real pseudo-terminal, with gloves on."""

from __future__ import annotations

import os
import re
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import pexpect
import pytest

Spawn = Callable[..., Any]


@pytest.fixture
def terminal(job: Any) -> Iterator[Spawn]:
    """Type a command at a terminal of so many columns."""
    spawned = []
    # COLUMNS, which the other tests set, would speak louder than the terminal's own size.
    around = {name: value for name, value in os.environ.items() if name != "COLUMNS"}

    def spawn(line: str, columns: int = 80) -> Any:
        code = "from weldcal.cli.main import run; run()"
        words = ["-c", code, "--book", str(job.book), *line.split()]
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


def answer(child: Any, question: str, typed: str) -> None:
    """Wait for a question and type."""
    child.expect(re.escape(question) + r"[^\n]*: $")
    child.sendline(typed)


def left(child: Any) -> int:
    """Read to the end; the exit code."""
    child.expect(pexpect.EOF)
    child.close()
    return int(child.exitstatus)


def test_a_strip_can_be_recorded_by_answering(job: Any, terminal: Spawn) -> None:
    """Everything asked; a bad answer is asked again, and nothing of it is recorded."""
    child = terminal("strip record")
    answer(child, "Nozzle temperature", "9320")
    child.expect("9320 °F cannot be")
    answer(child, "Nozzle temperature", "932")
    answer(child, "Travel speed on the dial", "fast")
    child.expect("not a number")
    answer(child, "Travel speed on the dial", "5.5")
    answer(child, "Bleed-out readings", "1/4,3/16,5/16")
    answer(child, "Bubbling", "some bubbles")
    child.expect("none, trace, heavy")
    answer(child, "Bubbling", "none")
    answer(child, "Cold pull", "")
    answer(child, "Ambient", "61")
    answer(child, "Sheet surface temperature", "")
    child.expect("Strip S1 recorded")
    assert left(child) == 0
    (row,) = job.query(
        "SELECT nozzle_c, speed_m_per_min, readings_n, bubbling, bond, ambient_c, sheet_c FROM strips"
    )
    assert tuple(row) == (
        500.0,
        1.6764,
        3,
        "none",
        "not tried",
        pytest.approx(16.11, abs=0.01),
        None,
    )


def test_back_asks_the_question_before_again_and_the_rest_stands(job: Any, terminal: Spawn) -> None:
    """`b` twice from the bubbling, a bad answer between; at the first question there is none before."""
    child = terminal("strip record --bond good")
    answer(child, "Nozzle temperature", "b")
    child.expect("first question")
    answer(child, "Nozzle temperature", "932")
    answer(child, "Travel speed on the dial", "5.5")
    answer(child, "Bleed-out readings", "many")
    answer(child, "Bleed-out readings", "1/4")
    answer(child, "Bubbling", "b")
    answer(child, "Bleed-out readings", "back")
    answer(child, "Travel speed on the dial", "6")
    answer(child, "Bleed-out readings", "3/16")
    answer(child, "Bubbling", "none")
    assert left(child) == 0
    (row,) = job.query("SELECT nozzle_c, speed_text, width_max_mm FROM strips")
    assert tuple(row) == (500.0, "6", pytest.approx(4.7625))


def test_the_cautions_stand_before_the_first_question(terminal: Spawn) -> None:
    """Before hot air, not after."""
    child = terminal("strip record")
    child.expect("Nozzle temperature")
    assert "Never type while the machine travels" in " ".join(child.before.split())


def test_enter_takes_the_last_strips_setting_exactly_as_it_was_set(
    job: Any, terminal: Spawn
) -> None:
    """900 F on a job in feet is offered as 900 F, not as some Celsius near it."""
    job.ok("strip record --nozzle 900 --speed 5.5 --bleed 1/4 --bubbling none")
    child = terminal("strip record --bleed 1/4,1/4,1/4 --bubbling none --bond good")
    child.expect(r"Nozzle temperature \[([^\]]*)\]")
    assert child.match[1].replace(" ", "").replace("°", "") == "900F"
    child.sendline("")
    answer(child, "Travel speed on the dial", "")
    assert left(child) == 0
    first, second = (e["payload"]["setting"] for e in job.entries() if e["kind"] == "strip")
    for name in ("nozzle", "speed"):
        assert (second[name]["number"], second[name]["unit"]) == (
            first[name]["number"],
            first[name]["unit"],
        )


def test_only_what_is_missing_is_asked(job: Any, terminal: Spawn) -> None:
    """Given everything but the bubbling, that is the only question before the pull."""
    child = terminal("strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bond good")
    answer(child, "Bubbling", "none")
    assert left(child) == 0
    assert "Nozzle temperature [" not in child.before


@pytest.mark.parametrize("key", ["c", "d"])
def test_leaving_in_the_middle_records_nothing(job: Any, terminal: Spawn, key: str) -> None:
    """Ctrl-C and Ctrl-D: one plain line, no entry, no traceback."""
    before = job.entries()
    child = terminal("strip record")
    child.expect("Nozzle temperature: ")
    time.sleep(0.5)  # a signal between the prompt and Python's read would wait for the next key
    child.sendcontrol(key)
    assert left(child) == 130
    assert "not recorded" in child.before
    assert "Traceback" not in child.before
    assert job.entries() == before


def test_a_run_is_finished_by_answering(job: Any, terminal: Spawn) -> None:
    """`seam finish A1` asks how far it went."""
    job.ok("seam start A1 --nozzle 932 --speed 5.5")
    child = terminal("seam finish A1")
    answer(child, "Finished at", "33")
    assert left(child) == 0
    assert job.seam("A1")["state"] == "unprobed"


ESCAPE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


@pytest.mark.parametrize(
    "line",
    [
        "roof",
        "trace A1",
        "strip list",
        "strip record --nozzle 932 --speed 5 --bleed 1/4 --bubbling none --bond good --ambient 61 --sheet-temp 70",
        "dial",
        "limit list",
        "job show",
        "cautions",
        "verify",
        "seam start A2 --nozzle 932 --speed 5",
        "probe A1 0-40 --void 3+1in",
    ],
)
def test_a_narrow_terminal_is_never_overrun(go_ahead: Any, terminal: Spawn, line: str) -> None:
    """40 columns: every line fits, no number parted from its screen edge by the terminal itself."""
    go_ahead.day("07:30 seam start A1 --nozzle 932 --speed 9\n07:40 seam finish A1 --to 33")
    go_ahead.ok("seam add the-long-end-lap-by-the-west-parapet --length 12ft")
    child = terminal(line, columns=40)
    child.expect(pexpect.EOF)
    shown = ESCAPE.sub("", child.before).replace("\r", "")
    assert [row for row in shown.splitlines() if len(row) > 40] == []


def test_a_narrow_roof_names_each_seam_first(go_ahead: Any, terminal: Spawn) -> None:
    """The seam's name heads its paragraph, beside its shape."""
    child = terminal("roof", columns=40)
    child.expect(pexpect.EOF)
    shown = ESCAPE.sub("", child.before)
    assert re.search(r"^\S? ?A1\b", shown, re.MULTILINE)
