"""What is written about the program is true of it."""

from __future__ import annotations

import ast
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
import typer

import weldcal as package
from weldcal.cli.main import app
from weldcal.quality.go_ahead_rules import RULES, STOPS
from weldcal.reports import sentences, shortfalls

PACKAGE = Path(package.__file__).parent
ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()


def leaves(command: Any, path: str = "") -> list[tuple[str, Any]]:
    """Every command that does something, with what is typed to reach it."""
    if not hasattr(command, "list_commands"):
        return [(path, command)]
    context = typer.Context(command)
    found = [(path, command)] if path and command.invoke_without_command else []
    for name in command.list_commands(context):
        found += leaves(command.get_command(context, name), f"{path} {name}".strip())
    return found


COMMANDS = dict(leaves(typer.main.get_command(app)))


def test_the_walk_through_the_commands_finds_them() -> None:
    """Else the tests below would prove nothing."""
    assert {"strip record", "dial", "roof", "job new", "verify"} <= set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example_of_itself(name: str) -> None:
    """What it does, and a line to copy that begins with its own name."""
    text = " ".join((COMMANDS[name].help or "").split())
    assert f"Example: weldcal {name}" in text


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_and_argument_says_what_it_is(name: str) -> None:
    """No parameter without a word of help, but names that speak for themselves."""
    params = COMMANDS[name].params
    assert [p.name for p in params if not getattr(p, "help", "x") and p.name != "name"] == []


@pytest.mark.parametrize("name", COMMANDS)
def test_every_example_is_understood(name: str) -> None:
    """The example's words are options and arguments the command has."""
    text = " ".join((COMMANDS[name].help or "").split())
    words = shlex.split(text.partition(f"Example: weldcal {name}")[2])
    COMMANDS[name].make_context(name, words, resilient_parsing=False)


def blocks(heading: str) -> list[str]:
    """The command lines under a heading of the README, in order; continued lines joined."""
    part = README.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    code = "\n".join(line[4:] for line in part.splitlines() if line.startswith("    "))
    lines = code.replace("\\\n", " ").splitlines()
    return [line for line in lines if line.startswith("weldcal ")]


def test_the_readmes_morning_can_be_typed_as_it_stands(
    weldcal: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In order, on a fresh book, every line exit code 0; the files it makes land beside that book."""
    monkeypatch.chdir(tmp_path)
    lines = blocks("A morning")
    assert len(lines) > 15
    for n, line in enumerate(lines):
        weldcal.clock.moment = weldcal.clock.moment.replace(hour=7 + n // 60, minute=n % 60)
        words = shlex.split(line, comments=True)[1:]
        done = weldcal(*words)
        assert (done.code, done.err) == (0, ""), line
    assert weldcal.seam("A1")["length_m"] == pytest.approx(10.0584)


def test_the_readme_says_how_to_begin_and_where_the_danger_is() -> None:
    """The job on top, the two commands, the cautions, whose word comes first."""
    top = README[: README.index("## A morning")]
    for text in (
        "weldcal demo",
        "pytest",
        "venv",
        "extinguisher",
        "Never type while the machine travels",
        "sheet maker's instructions",
        "local codes",
    ):
        assert text in top


def codes(*names: str) -> set[str]:
    """Every code given to one of these constructors anywhere in quality and book."""
    found = set()
    for path in [*(PACKAGE / "quality").glob("*.py"), *(PACKAGE / "book").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", None) in names:
                first = node.args[0]
                if isinstance(first, ast.JoinedStr):  # f"moved_{rule.code}"
                    found |= {f"moved_{rule.code}" for rule in (*RULES, *STOPS)}
                    continue
                assert isinstance(first, ast.Constant), (
                    f"{path.name}: a code that is not a plain word"
                )
                found.add(first.value)
    return found


def test_every_shortfall_has_its_sentence() -> None:
    """And no sentence waits for a shortfall nobody gives."""
    first_day = {"moved_first_day"}  # a limit of the job, asked by the book itself
    assert codes("Shortfall") | first_day == set(shortfalls._SHORTFALLS)


def test_every_note_has_its_sentence() -> None:
    """And no sentence waits for a note nobody gives."""
    assert codes("Note") == set(sentences._NOTES)


def test_every_warning_a_run_can_carry_has_its_sentence() -> None:
    """Whatever can void a go-ahead can stand in a run's entry."""
    goahead = (PACKAGE / "quality" / "goahead.py").read_text()
    voiding = set(re.findall(r'Shortfall\(\s*"(\w+)"', goahead.partition("def voids")[2]))
    assert voiding
    for code in voiding | {"no_go_ahead", "other_speed", "other_nozzle_temperature"}:
        assert shortfalls.warning(code)


def test_every_room_of_the_house_is_there_and_described() -> None:
    """DEVELOPERS.md's table and the package agree."""
    text = (ROOT / "DEVELOPERS.md").read_text()
    table = text.partition("| room | what lives there |")[2].partition("\n\n")[0]
    told = {
        name.strip("/")
        for row in table.splitlines()
        for name in re.findall(r"`([\w.]+/?)`", row.split("|")[1] if "|" in row else "")
    }
    there = {p.name for p in PACKAGE.iterdir() if p.is_dir() and (p / "__init__.py").exists()}
    there |= {p.name for p in PACKAGE.glob("*.py") if p.name != "__init__.py"}
    assert told == there


@pytest.mark.parametrize(
    "named",
    sorted(
        set(
            re.findall(
                r"`((?:cli|book|log|tables|records|quality|reports)/\w+\.py)`",
                (ROOT / "DEVELOPERS.md").read_text(),
            )
        )
    ),
)
def test_every_file_the_developers_page_names_is_there(named: str) -> None:
    """A map with no dead ends."""
    assert (PACKAGE / named).exists()


def test_the_developers_page_tells_the_life_of_a_strip() -> None:
    """From keyboard to report."""
    assert (
        "The life of a test strip, from keyboard to report" in (ROOT / "DEVELOPERS.md").read_text()
    )


def test_the_page_of_commands_is_what_the_program_says() -> None:
    """Made anew, it is the same: python -m weldcal.cli.reference > docs/commands.md"""
    from weldcal.cli import reference

    assert (ROOT / "docs" / "commands.md").read_text() == reference.page()


@pytest.mark.parametrize("name", COMMANDS)
def test_the_page_of_commands_has_an_example_of_each(name: str) -> None:
    """Under the command's own heading, to be copied."""
    page = (ROOT / "docs" / "commands.md").read_text()
    section = page.partition(f"### weldcal {name}\n")[2].partition("\n#")[0]
    assert f"\n    weldcal {name}" in section
