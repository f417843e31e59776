"""Into a pipe, into JSON, on a plain terminal: what scripts and old screens get."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest

from weldcal.reports.lines import wrapped

Fresh = Callable[..., subprocess.CompletedProcess[str]]
LOOKS = [
    "roof",
    "strip list",
    "trace A1",
    "dial",
    "limit list",
    "job show",
    "verify",
    "cautions",
    "--help",
    "strip record --help",
]
BOXES = set("─│┌┐└┘├┤┬┴┼━┃╭╮╰╯═║╔╗╚╝╞╡")


@pytest.fixture
def day(go_ahead: Any) -> Any:
    """A seam welded, a void found."""
    go_ahead.day(
        "07:30 seam start A1 --nozzle 932 --speed 9\n07:37 seam finish A1 --to 33\n10:00 probe A1 0-33 --void 3+1in --by BO"
    )
    return go_ahead


@pytest.mark.parametrize("line", LOOKS)
def test_a_pipe_gets_no_colour_and_no_boxes(day: Any, line: str) -> None:
    """Nothing that breaks grep."""
    out = day.ok(line).out
    assert "\x1b" not in out
    assert BOXES.isdisjoint(out)


def test_a_piped_table_is_one_line_a_row(day: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tabs between, so that cut and awk work; however narrow COLUMNS is."""
    monkeypatch.setenv("COLUMNS", "40")
    rows = [row.split("\t") for row in day.ok("roof").out.splitlines() if "\t" in row]
    assert [row[1] for row in rows] == ["Seam", "A1", "A2", "A3"]
    assert {len(row) for row in rows} == {7}


@pytest.mark.parametrize(
    "line",
    [
        "strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none",
        "strip pull S1 good",
        "conditions --ambient 61",
        "seam start A2 --nozzle 932 --speed 5.5",
        "bleed A1 3 1/4",
        "probe A1 0-3",
        "finding A1 cold 3",
        "mend F1 --method patch",
        "peel A1 3 --parted lap",
        "amend S1 speed 6 --why slip",
        "settle R1 done",
        "limit set bleed_low 1/8 --source x",
        "sheet add cap",
        "machine add red",
        "person add Cleo",
        "area add North",
        "instrument add tape",
        "job new Other",
    ],
)
def test_a_recording_command_answers_with_one_json_document(day: Any, line: str) -> None:
    """Id, name and notes, and nothing else on stdout: no caution, no prompt."""
    document = day.ok(f"{line} --json").json
    assert document["name"]
    assert document["id"]
    assert isinstance(document["notes"], list)
    assert all("code" in note for note in document["notes"])


def test_the_roof_as_json_has_stable_keys_with_their_units(day: Any) -> None:
    """Exactly these, in this order."""
    document = day.ok("roof --json").json
    assert list(document) == ["seams", "warnings", "conflicts", "faults"]
    assert list(document["seams"][0]) == [
        "name",
        "state",
        "flags",
        "length_m",
        "welded_m",
        "probed_m",
        "welded_stretches_m",
        "unprobed_stretches_m",
        "open",
        "mended_unprobed",
        "probe_again",
    ]
    assert {"run", "seam", "code", "done"} <= set(document["warnings"][0])


def test_the_trace_as_json_has_stable_keys(day: Any) -> None:
    """And each event says what it is, who saw it and when."""
    document = day.ok("trace A1 --json").json
    assert list(document) == [
        "seam",
        "state",
        "flags",
        "unprobed_stretches_m",
        "open",
        "mended_unprobed",
        "probe_again",
        "disagreements",
        "in_doubt",
        "events",
    ]
    for event in document["events"]:
        assert event["what"]
        assert event["seen_by"]
        assert event["seen_utc"].endswith("+00:00")


@pytest.mark.parametrize("line", ["roof", "trace A1", "cautions", "dial"])
def test_a_terminal_that_knows_only_ascii_is_no_error(day: Any, fresh: Fresh, line: str) -> None:
    """Signs it cannot show become question marks."""
    plain = {
        **os.environ,
        "PYTHONIOENCODING": "ascii",
        "LC_ALL": "C",
        "PYTHONUTF8": "0",
        "PYTHONCOERCECLOCALE": "0",
    }
    done = fresh(line, env=plain)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_reader_that_closes_early_is_no_error(day: Any) -> None:
    """`weldcal ... | head -1`."""
    day.ok("seam add B1-B900")
    code = "from weldcal.cli.main import run; run()"
    command = f"'{sys.executable}' -c '{code}' --book '{day.book}' roof | head -1"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {command}"],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert len(done.stdout.splitlines()) == 1


@pytest.mark.parametrize("columns", [40, 80])
def test_recording_folds_its_prose_to_the_screen(
    job: Any, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    """The cautions too."""
    monkeypatch.setenv("COLUMNS", str(columns))
    out = job.ok(
        "strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none --machine 'the red one' --at 23:50"
    ).out
    assert max(map(len, out.splitlines())) <= columns


@pytest.mark.parametrize("width", range(12, 60))
def test_a_tape_reading_is_never_parted_before_its_fraction(width: int) -> None:
    """`6 1/4 in` on two lines would read as 6."""
    for line in wrapped("at (32 ft 6 1/8 in, 3 ft 3 3/8 in), 20 ft 16 1/4 in away", width).split(
        "\n"
    ):
        assert not re.search(r"(?<!/)\b\d+$", line), line
        assert not re.match(r"\d/\d", line), line


def test_an_absurd_sum_is_shown_in_plain_digits(go_ahead: Any) -> None:
    """Four seams of 30,000 ft: 120 000 ft, not 1.2e+05; groups of three, parted by a space."""
    for n in range(1, 5):
        go_ahead.ok(f"seam add L{n} --length 30000ft")
        go_ahead.ok(f"seam start L{n} --nozzle 932 --speed 5.5")
        go_ahead.ok(f"seam finish L{n} --to 30000")
    out = go_ahead.ok("roof").out.replace("\N{NO-BREAK SPACE}", " ")
    assert "120 000 ft welded" in " ".join(out.split())
    assert "e+0" not in out
