"""A whole day of every command on a screen: nothing past its edge, nothing by colour alone, nothing by position for a reader."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len

ROOT = Path(__file__).parents[2]
DAY = (ROOT / "tests" / "language" / "day.txt").read_text(encoding="utf-8")
CONTROL = re.compile(r"\x1b\[([0-9;?]*)([a-zA-Z])")
BOXES = set("─│┌┐└┘├┤┬┴┼━┃╸╺╭╮╰╯═║╔╗╚╝╞╡█▏▕")
# To be copied as it stands: a command, a shell's script, a path, hash or code alone on its line.
_COPIED = re.compile(r"weldcal |^ *[/\w][\w./-]+[:,]?$")
_SCRIPT = "completion bash"
RUNS = [
    (40, "plain", "en"),
    (80, "plain", "en"),
    (80, "high-contrast", "en"),
    (40, "linear", "en"),
    (80, "linear", "en"),
    (40, "plain", "es"),
    (40, "linear", "es"),
    (20, "plain", "en"),
]


def day(folder: Path, lines: str = DAY, **env: str) -> list[dict[str, Any]]:
    """What each line of the day shows on a terminal."""
    run = subprocess.run(
        [sys.executable, "-m", "tests.language.speak", str(folder / "book.sqlite"), "screen"],
        input=lines.replace("HERE", str(folder)),
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=True,
        env={**os.environ, "HOME": str(folder), "TERM": "xterm-256color", **env},
    )
    return [json.loads(row) for row in run.stdout.splitlines()]


def named(run: tuple[Any, ...]) -> str:
    return "-".join(map(str, run))


def only(screen: str) -> Any:
    """The runs in one screen."""
    runs = [run for run in RUNS if run[1] == screen]
    return pytest.mark.parametrize("shown", runs, indirect=True, ids=named)


@pytest.fixture(scope="module", params=RUNS, ids=named)
def shown(request: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The day at a width, in a screen, in a language; and that width and screen."""
    columns, screen, language = request.param
    said = day(
        tmp_path_factory.mktemp("day"),
        COLUMNS=str(columns),
        WELDCAL_SCREEN=screen,
        WELDCAL_LANG=language,
    )
    return columns, screen, said


def rows(one: dict[str, Any]) -> list[str]:
    """The lines of an answer as they stand on the screen, without styles."""
    return CONTROL.sub("", one["out"] + one["err"]).splitlines()


def test_every_line_of_the_day_is_answered(shown: Any) -> None:
    """In any screen and width, the same work is done."""
    _columns, _screen, said = shown
    assert [one for one in said if one["code"] != 0] == []
    assert len(said) == len([line for line in DAY.splitlines() if line.strip()])


def test_nothing_is_wider_than_the_screen(shown: Any) -> None:
    """Except what must be copied."""
    columns, _screen, said = shown
    wide = [
        (one["line"][:40], row)
        for one in said
        if one["line"] != _SCRIPT
        for row in rows(one)
        if cell_len(row) > columns and not _COPIED.search(row)
    ]
    assert wide == []


@only("linear")
def test_linear_has_no_boxes_no_columns_and_no_bullets(shown: Any) -> None:
    """One thing a line, no padding, no signs that stand for words, nothing written over."""
    _columns, _screen, said = shown
    odd = [
        (one["line"][:40], row)
        for one in said
        if one["line"] != _SCRIPT
        for row in rows(one)
        if "  " in row
        or row != row.strip(" ")
        or re.match(r"[-*!|.?%=+]( |$)", row)
        or "–" in row
        or not BOXES.isdisjoint(row)
    ]
    assert odd == []
    assert [one["line"] for one in said if "\x1b" in one["out"] + one["err"]] == []


@only("high-contrast")
def test_high_contrast_has_no_colour_and_no_grey(shown: Any) -> None:
    """Bold and reverse only."""
    _columns, _screen, said = shown
    styles = {
        number
        for one in said
        for codes, letter in CONTROL.findall(one["out"] + one["err"])
        if letter == "m"
        for number in codes.split(";")
    }
    assert "1" in styles
    assert styles <= {"", "0", "1", "7"}


@pytest.mark.parametrize(
    ("env", "forbidden"),
    [({"NO_COLOR": "1"}, r"\x1b\[[0-9;]*\b(?:[349]\d|10\d|38|48)\b"), ({"TERM": "dumb"}, r"\x1b")],
    ids=["NO_COLOR", "dumb"],
)
def test_a_terminal_without_colour_gets_none(
    tmp_path: Path, env: dict[str, str], forbidden: str
) -> None:
    """NO_COLOR, as no-color.org has it; TERM=dumb gets no control signs at all, and its own width."""
    said = day(tmp_path, COLUMNS="40", **env)
    assert [one["line"] for one in said if re.search(forbidden, one["out"] + one["err"])] == []
    assert max(cell_len(r) for one in said if one["line"] == "roof" for r in rows(one)) <= 40


# Seams in each of the seven states, each at its place on the roof.
STATES = """
06:40 job new "Roof" --units us --zone America/Denver --by "Ana Ruiz" --sheet "base: SBS" --machine "blue: ft/min"
06:41 me "Ana Ruiz"
06:45 roof lay "A 60ft x 24ft" --roll-width 39.4in --roll-length 100ft
08:00 seam start A1 --nozzle 932 --speed 5
08:01 seam finish A1 --to 60
08:02 seam start A2 --nozzle 932 --speed 5
08:03 seam finish A2 --to 60
08:04 seam start A3 --nozzle 932 --speed 5
08:05 seam finish A3 --to 60
08:06 seam start A4 --nozzle 932 --speed 5
08:07 seam finish A4 --to 60
08:08 seam start A5 --nozzle 932 --speed 5
08:09 seam finish A5 --to 60
08:10 seam start A6 --nozzle 932 --speed 5
09:00 probe A2 0-30
09:01 probe A3 0-60 --void 3+1in
09:02 probe A4 0-60 --void 3+1in
09:03 mend F2 --method patch
09:04 probe A5 0-60
10:00 roof
"""
WORDS = {
    "A1": "unprobed",
    "A2": "probed in part",
    "A3": "open findings",
    "A4": "mended and unprobed",
    "A5": "probed with no open finding",
    "A6": "in work",
    "A7": "not started",
}


@pytest.mark.parametrize("screen", ["plain", "high-contrast", "linear"])
def test_states_are_told_apart_without_styles(tmp_path: Path, screen: str) -> None:
    """Each by its word, and in a drawing by a shape of its own, which the legend names."""
    (*_done, roof) = day(tmp_path, STATES, COLUMNS="140", WELDCAL_SCREEN=screen)
    plain = rows(roof)
    for seam, word in WORDS.items():
        stands = f"Seam {seam}: {word}, " if screen == "linear" else rf"^\S +{seam} +{word}  "
        assert any(re.search(stands, row) for row in plain), seam
    drawn = [row[1:].strip() for row in plain if row.startswith("|")]
    shapes = {row[0] for row in drawn if row}
    if screen == "linear":
        assert drawn == []
        return
    assert len(shapes) == len(WORDS)
    for sign in shapes:
        assert any(re.search(rf"(^|  ){re.escape(sign)} \w", row) for row in plain)


def test_styles_come_beside_the_shapes(tmp_path: Path) -> None:
    """A colour each on a colour terminal, bold and reverse in high contrast: so that the tests above can fail."""
    (*_done, coloured) = day(tmp_path, STATES, COLUMNS="80")
    (tmp_path / "again").mkdir()
    (*_done, bright) = day(tmp_path / "again", STATES, COLUMNS="80", WELDCAL_SCREEN="high-contrast")
    assert re.search(r"\x1b\[1;3\dmX", coloured["out"])
    assert "\x1b[1;7mX" in bright["out"]
    assert rows(coloured) == rows(bright)
