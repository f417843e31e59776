"""Help: grouped by person, folded to the screen, an example on every page, in the reader's language."""

from __future__ import annotations

from typing import Any

import pytest
import typer

from weldcal.cli import help as pages
from weldcal.cli import main as door
from weldcal.cli.main import COMMANDS, app

BOXES = set("─│┌┐└┘├┤┬┴┼━┃╭╮╰╯═║╔╗╚╝╞╡")


def every(command: Any, path: str = "") -> list[str]:
    """Every command and group, as typed."""
    found = [path]
    if hasattr(command, "list_commands"):
        for name in command.list_commands(typer.Context(command)):
            below = command.get_command(typer.Context(command), name)
            found += every(below, f"{path} {name}".strip())
    return found


PAGES = every(typer.main.get_command(app))


@pytest.mark.parametrize("columns", [40, 80])
def test_the_first_page_is_grouped_by_person(
    weldcal: Any, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    """Each command once, under whom it is for, in that order; no line past the screen."""
    monkeypatch.setenv("COLUMNS", str(columns))
    rows = weldcal.ok("--help").out.splitlines()
    heads = [row[:-1] for row in rows if row.endswith(":") and " " not in row]
    assert heads == [*COMMANDS, "Options"]
    assert {"Operator", "Inspector", "Foreman", "Set-up"} <= set(heads)
    named = [row.split()[0] for row in rows if row[:2] == "  " and row[2:3].strip()]
    wanted = [name for part in COMMANDS.values() for name in part]
    assert named == [*wanted, "--book", "--job", "--version", "--screen", "--help"]
    assert max(map(len, rows)) <= columns


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("path", PAGES)
def test_every_page_fits_the_screen_and_shows_an_example(
    weldcal: Any, monkeypatch: pytest.MonkeyPatch, path: str, columns: int
) -> None:
    """No boxes, no colour, nothing cut short, nothing past the edge."""
    monkeypatch.setenv("COLUMNS", str(columns))
    out = weldcal.ok(f"{path} --help").out
    assert max(map(len, out.splitlines())) <= columns
    assert BOXES.isdisjoint(out) and "\x1b" not in out and "..." not in out
    assert out.startswith(f"Usage: weldcal {path}".strip())
    assert f"weldcal {path}".strip() in " ".join(out.partition("\n")[2].split())


def test_every_word_of_a_page_can_be_translated(
    weldcal: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With every message in capitals, nothing but names, examples and defaults stays small."""
    asked: list[str] = []

    def shout(message: str, /, **values: object) -> str:
        asked.append(message)
        parts = [part if part.startswith("{") else part.upper() for part in _pieces(message)]
        return "".join(parts).format(**values) if values else message.upper()

    monkeypatch.setattr(pages, "_", shout)
    monkeypatch.setenv("COLUMNS", "100")
    out = weldcal.ok("mend --help").out
    small = {word.strip(".,;:[]") for word in out.split() if word != word.upper()}
    assert small == {
        "weldcal",
        "mend",
        *(
            f"--{name}"
            for name in (
                "method",
                "place",
                "tool",
                "nozzle",
                "patch",
                "photo",
                "note",
                "by",
                "at",
                "json",
                "help",
            )
        ),
    }
    assert "Record the mend of a finding; the mended length must be probed again." in asked
    assert 'Example: weldcal mend F3 --method patch --patch 8in --tool "hand tool 2"' in asked


def _pieces(message: str) -> list[str]:
    """A message cut at its values."""
    import re

    return re.split(r"(\{\w+\})", message)


def test_asking_for_nothing_shows_the_same_as_asking_for_help(weldcal: Any) -> None:
    """A group's word alone opens its page."""
    assert weldcal.ok("strip").out.strip() == weldcal.ok("strip --help").out.strip()


def test_recording_loads_no_help(go_ahead: Any, fresh: Any) -> None:
    """Neither pages nor guesses are imported by a line that is right."""
    tell = "import atexit, sys; atexit.register(lambda: print(sorted(m for m in sys.modules if m in ('weldcal.cli.help', 'weldcal.cli.usage', 'weldcal.cli.completion'))))"
    done = fresh("conditions --ambient 61F --by AR", before=tell)
    assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "[]")
    assert door.main(["--help"]) == 0
