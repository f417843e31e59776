"""A mistyped line: one sentence of ours that says what was meant, exit 2, nothing recorded."""

from __future__ import annotations

from typing import Any

import pytest
import typer

from weldcal.cli import usage
from weldcal.cli.main import app

# typer's own words for these mistakes; none may reach a reader.
ENGLISH = (
    "No such",
    "Got unexpected",
    "Missing argument",
    "requires an argument",
    "does not take",
    "Invalid value",
    "Try ",
)

MEANT = {
    "stip": "strip",
    "log": "strip record",
    "record": "strip record",
    "test": "strip record",
    "speed": "dial",
    "weld": "seam start",
    "inspect": "probe",
    "report": "evening",
    "status": "roof",
    "check-in": "me",
    "repair": "mend",
    "delete": "undo",
    "weather": "conditions",
    "help": "--help",
    "pull": "strip pull",
    "finish": "seam finish",
    "measure": "machine measure",
    "lay": "roof lay",
    "inspct": "probe",
    "wled": "seam start",
    "REPORT": "dossier",
    "doubts": "doubt",
    "strip reccord": "strip record",
    "strip add": "strip record",
    "strip show": "strip list",
    "seam stop": "seam finish",
    "job create": "job new",
    "hotwork finish": "hotwork end",
}


def refused(weldcal: Any, line: str) -> str:
    """Type a line that must be refused in one line of ours; the line."""
    before = len(weldcal.entries())
    done = weldcal(line)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith("weldcal: ") and done.err.count("\n") == 1
    assert not any(words in done.err for words in ENGLISH)
    assert len(weldcal.entries()) == before
    text: str = done.err
    return text


@pytest.mark.parametrize("typed", MEANT)
def test_a_wrong_command_names_the_right_one(weldcal: Any, typed: str) -> None:
    """By spelling, by what people call it, by the second word of two; without a book too."""
    asked = refused(weldcal, typed).partition("Did you mean: ")[2].partition("?")[0]
    assert f"weldcal {MEANT[typed]}" in asked.split(", ")


def test_a_word_near_nothing_leads_to_the_list(weldcal: Any) -> None:
    """No guess where there is none to make."""
    assert "Did you mean" not in refused(weldcal, "xyzzy")
    assert "weldcal --help" in refused(weldcal, "xyzzy")
    assert "weldcal strip --help" in refused(weldcal, "strip xyzzy")


@pytest.mark.parametrize("command", usage._ALSO)
def test_what_is_suggested_exists(command: str) -> None:
    """Each row of the table leads to a command of the program."""
    found: Any = typer.main.get_command(app)
    for word in command.split() if command != "--help" else ():
        found = found.get_command(typer.Context(found), word)
        assert found is not None


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("mend F1 --metod patch", "Did you mean: --method?"),
        ("mend F1 --reason patch", "See them all: weldcal mend --help."),
        ("strip record --temp 932", "--nozzle, --ambient, --sheet-temp"),
        ("amend S1 speed 6 --reason slip", "Did you mean: --why?"),
        ("conditions --who Ana", "Did you mean: --by?"),
        ("mend F1 --method", "--method needs a value (How it was mended"),
        ("form probe --leak", "Type it like: --leak K1"),
        ("mend F1 --json=yes", "--json takes no value"),
        (
            "bleed",
            "NAME is missing (The seam, like A12). Type it like: weldcal bleed A12 14 3/16,1/4",
        ),
        ("bleed A1", "PLACE is missing"),
        (
            "strip pull S1",
            "BOND is missing (good or cold). Type it like: weldcal strip pull S3 good",
        ),
        ("me Ana Ruiz", "'Ruiz' is a word too many; a name of several words goes in quotes"),
        ("strip list all", "Type it like: weldcal strip list"),
        ("amend S1 ambient -5C --why slip", "-- S1 ambient -5C"),
        ("strip --", "A command is missing. See them all: weldcal strip --help."),
    ],
)
def test_every_mistyped_line_says_what_to_type(job: Any, line: str, said: str) -> None:
    """A missing word, an unknown option, a word too many, a value lacking or not wanted."""
    assert said in refused(job, line)


def test_a_value_below_zero_is_read_after_two_dashes(go_ahead: Any) -> None:
    """What the refusal says to type does work."""
    go_ahead.ok("amend --why slip -- S1 ambient -5C")
    assert go_ahead.entries()[-1]["kind"] == "amend"


def test_a_wrong_word_cannot_drive_the_terminal(weldcal: Any) -> None:
    """Signs that move the cursor are shown, not sent."""
    done = weldcal("st\x1b[2Jip")
    assert done.code == 2
    assert "\x1b" not in done.err
