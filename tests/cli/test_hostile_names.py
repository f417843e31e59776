"""Names as people and mischief write them: shown as typed, obeyed never, kept exactly."""

from __future__ import annotations

import os
import re
import sys
import unicodedata
from typing import Any

import pexpect
import pytest

NAMES = [
    "[bold]A1[/bold]",
    "[/x]",
    "A [link=http://x]1",
    'the "long" one',
    "O'Brien's",
    "a\\b",
    "{name}",
    "%s %d",
    "$(reboot)",
    "a;b",
    "<script>",
    "&amp;",
    "🔥 seam 1",
    "👩‍🔧",
    "Ñandú",
    "שלום",
    "مرحبا 12",
    "中文縫",
    "-",
    "NULL",
    "a\tb",
    "a\nb",
    "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07",
    "\x9b31m",
    "a\rb",
    "bell\x07",
    "\x7f",
    "null\x01",
    "abc\u202egpj",
    "\u2066x\u2069",
    "a\u200fb",
    "' OR 1=1 --",
    "'); DROP TABLE seams; --",
    "e\u0301",
]
# A tab parts the columns of a piped table; a line ends in a newline. No other sign may come out.
OBEYED = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\u200e\u200f]")


def words(name: str) -> list[list[str]]:
    """Every place a person can put a name, after the options that need one."""
    return [
        ["person", "add", f"{name.replace(':', '')}"],
        ["seam", "add", "--", name],
        [
            "seam",
            "start",
            "--nozzle",
            "932",
            "--speed",
            "5.5",
            f"--by={name}",
            f"--note={name}",
            f"--roll-lot={name}",
            "--",
            name,
        ],
        ["seam", "finish", "--to", "33", f"--why={name}", "--", name],
        ["bleed", f"--note={name}", "--", name, "3", "1/4"],
        ["probe", f"--by={name}", f"--instrument={name}", "--void=3+1in", "--", name, "0-33"],
        ["mend", "F1", f"--method={name}", f"--tool={name}"],
        [
            "strip",
            "record",
            "--nozzle",
            "932",
            "--speed",
            "5.5",
            "--bleed",
            "1/4",
            "--bubbling",
            "none",
            f"--machine={name}",
            f"--sheet={name}",
            f"--note={name}",
        ],
        ["amend", f"--why={name}", "S1", "note", "--", name],
        ["settle", "R1", "--", name],
        ["limit", "set", "bleed_low", "1/8", f"--source={name}"],
    ]


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_a_name_is_kept_exactly_and_obeyed_nowhere(job: Any, name: str) -> None:
    """Through every command: exit code 0, no control sign printed, the same name out of --json."""
    shown = ""
    for line in words(name):
        shown += job.ok(*line).out
    for line in ("roof", "strip list", "limit list", "job show", "verify"):
        shown += job.ok(line).out
    shown += job.ok("trace", "--", name).out
    assert OBEYED.search(shown) is None
    rows = [row for row in job.ok("roof").out.splitlines() if "\t" in row]
    assert {row.count("\t") for row in rows} == {6}
    kept = unicodedata.normalize("NFC", name).strip()
    assert kept in [s["name"] for s in job.ok("roof --json").json["seams"]]
    assert kept in [row["note"] for row in job.ok("strip list --json").json]
    assert {row["seen_by"] for row in job.query("SELECT seen_by FROM runs")} == {kept}


@pytest.mark.parametrize("name", [name for name in NAMES if name.isprintable()], ids=ascii)
def test_a_name_of_plain_signs_is_shown_as_typed(job: Any, name: str) -> None:
    """Brackets, quotes, emoji and other scripts are signs like any other."""
    job.ok("seam", "add", "--", name)
    kept = unicodedata.normalize("NFC", name)
    assert f"\t{kept}\t" in job.ok("roof").out


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_a_hostile_name_is_refused_in_one_line_too(job: Any, name: str) -> None:
    """Refusals quote what was typed: they must not obey it either."""
    for line in (
        ["trace", "--", name],
        ["strip", "pull", "--", name, "good"],
        ["machine", "add", f"{name}: warp 9"],
        ["strip", "record", f"--speed={name}x", "--nozzle", "932"],
        ["--job", name, "roof"],
    ):
        done = job(*line)
        assert done.code == 2
        assert len(done.err.splitlines()) == 1
        assert OBEYED.search(done.err) is None


def test_a_path_with_a_newline_makes_no_second_line(weldcal: Any, tmp_path: Any) -> None:
    """Nor an escape in it."""
    path = tmp_path / "a\nb\x1b[31m.sqlite"
    path.write_text("no book at all, only text" * 40)
    weldcal.book = path
    done = weldcal("roof")
    assert (done.code, len(done.err.splitlines())) == (2, 1)
    assert "\x1b" not in done.err


def test_markup_does_nothing_on_a_real_terminal(job: Any) -> None:
    """[bold] and [link] are text in a table as well."""
    job.ok("seam", "add", "[bold red]X[/] :smile:")
    child = pexpect.spawn(
        sys.executable,
        ["-c", "from weldcal.cli.main import run; run()", "--book", str(job.book), "roof"],
        encoding="utf-8",
        timeout=20,
        dimensions=(40, 160),
        env={**os.environ, "COLUMNS": "160"},
    )
    child.expect(pexpect.EOF)
    assert "[bold red]X[/] :smile:" in child.before


@pytest.mark.parametrize("name", ["x" * 201, "", "  "])
def test_a_name_has_an_end(job: Any, name: str) -> None:
    """Empty and endless names are refused."""
    before = job.entries()
    assert job("seam", "add", "--", name).code == 2
    assert job.entries() == before
