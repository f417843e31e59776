"""Tab in bash, zsh and fish: commands, names out of the book, words of a choice."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pexpect
import pytest

RUN = "from weldcal.cli.start import run; run()"


def tab(book: Path, *words: str, shell: str = "bash") -> list[str]:
    """What Tab offers for the last word, which is begun."""
    asks = {
        "bash": {"COMP_WORDS": "\n".join(["weldcal", *words]), "COMP_CWORD": str(len(words))},
        "fish": {
            "_TYPER_COMPLETE_FISH_ACTION": "get-args",
            "_TYPER_COMPLETE_ARGS": " ".join(["weldcal", *words]),
        },
        "zsh": {"_TYPER_COMPLETE_ARGS": " ".join(["weldcal", *words])},
    }[shell]
    env = {
        **os.environ,
        **asks,
        "_WELDCAL_COMPLETE": f"complete_{shell}",
        "WELDCAL_BOOK": str(book),
    }
    done = subprocess.run(
        [sys.executable, "-c", RUN],
        capture_output=True,
        text=True,
        env=env,
        timeout=30,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.split("\n")[:-1] if done.stdout.strip() else []


@pytest.fixture
def day(go_ahead: Any) -> Path:
    """A book with a finding in it."""
    go_ahead.ok("finding A1 cold 7 --by BO")
    path: Path = go_ahead.book
    return path


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (["str"], ["strip"]),
        (["seam", ""], ["add", "start", "finish"]),
        (["seam", "start", "A"], ["A1", "A2", "A3"]),
        (["bleed", "A2"], ["A2"]),
        (["probe", "A"], ["A1", "A2", "A3"]),
        (["trace", "A1"], ["A1"]),
        (["mend", "F"], ["F1"]),
        (["strip", "pull", ""], ["S1"]),
        (["strip", "pull", "S1", "g"], ["good"]),
        (["machine", "drift", "b"], ["blue"]),
        (["strip", "record", "--machine", ""], ["blue"]),
        (["strip", "record", "--sheet", ""], ["base"]),
        (["conditions", "--by", ""], ["Ana\\ Ruiz", "Ben\\ Okoro"]),
        (["conditions", "--by", "B"], ["Ben\\ Okoro"]),
        (["conditions", "--sheet"], ["--sheet-temp"]),
        (["amend", "F"], ["F1"]),
        (["limit", "set", "bleed_l"], ["bleed_low"]),
        (["job", "use", ""], ["School\\ roof"]),
        (["completion", "z"], ["zsh"]),
        (["conditions", "--by=B"], ["Ben\\ Okoro"]),
        (["conditions", "--by", "=", "B"], ["Ben\\ Okoro"]),
        (["conditions", "--by", "Ana", "--b"], []),
        (["finding", "A1", "void", "4", "--photo", "a.jpg", "--ph"], ["--photo"]),
        (["seam", "start", "--json", "A"], ["A1", "A2", "A3"]),
        (["seam", "start", "A1", "A"], []),
        (["nowhere", ""], []),
    ],
)
def test_tab_offers_what_can_stand_there(day: Path, words: list[str], offered: list[str]) -> None:
    """Names with a space are quoted as bash wants them."""
    assert tab(day, *words) == offered


def test_the_other_shells_are_answered_in_their_own_way(day: Path) -> None:
    """fish gets a word a line, zsh its own list."""
    assert tab(day, "seam", "start", "A", shell="fish") == ["A1", "A2", "A3"]
    (head, *rest) = tab(day, "seam", "start", "A", shell="zsh")
    assert (head, rest[-1]) == ('_arguments \'*: :(("A1"', '"A3"))\'')


def test_tab_is_silent_where_there_is_nothing_to_offer(tmp_path: Path) -> None:
    """No book, a file that is none: nothing said, nothing made."""
    nowhere, other = tmp_path / "none.sqlite", tmp_path / "other.sqlite"
    other.write_text("not a book")
    assert tab(nowhere, "seam", "start", "") == tab(other, "seam", "start", "") == []
    assert not nowhere.exists()
    assert other.read_text() == "not a book"


def test_a_name_that_would_drive_the_terminal_is_not_offered(day: Path) -> None:
    """Such a name can only come from elsewhere; Tab leaves it out and offers the rest."""
    with sqlite3.connect(day) as connection:
        connection.execute("UPDATE seams SET name = 'A2' || char(27) || '[2J' WHERE name = 'A2'")
    connection.close()
    assert tab(day, "seam", "start", "A") == ["A1", "A3"]


def test_tab_in_a_real_bash(day: Path, tmp_path: Path) -> None:
    """The script printed, taken in as its first line says; a half-typed name is completed."""
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("no bash here")
    door = tmp_path / "weldcal"
    door.write_text(f"#!/bin/sh\nexec {sys.executable} -c '{RUN}' \"$@\"\n")
    door.chmod(0o755)
    env = {**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}", "WELDCAL_BOOK": str(day)}
    child = pexpect.spawn(bash, ["--norc", "-i"], encoding="utf-8", timeout=20, env=env)
    child.sendline('eval "$(weldcal completion bash)"')
    child.send("echo reached; weldcal mend --by Be\t")
    child.expect_exact("--by Ben\\ Okoro ")
    child.close(force=True)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_says_where_it_belongs(weldcal: Any, shell: str) -> None:
    """First a comment that says so, then the script itself."""
    first, *script = weldcal.ok(f"completion {shell}").out.splitlines()
    assert first.startswith("# ") and f"weldcal completion {shell}" in first
    assert f"_WELDCAL_COMPLETE=complete_{shell}" in "\n".join(script)


def test_another_shell_is_refused_in_one_line(weldcal: Any) -> None:
    """With those there are."""
    done = weldcal("completion csh")
    assert (done.code, done.err) == (
        2,
        "weldcal: shell: 'csh' is not one of: bash, zsh, fish. Type one of them.\n",
    )
