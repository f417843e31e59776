"""A line's words: what each parameter gets, and what is left over."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import Any

import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st

import weldcal.cli
from weldcal.cli import arguments
from weldcal.cli.main import app
from weldcal.errors import WeldcalError

ROOT: Any = typer.main.get_command(app)


def parameters(path: str, words: list[str]) -> tuple[dict[str, Any], list[str]]:
    """What a command's parameters get of some words, and what is left."""
    command, ctx = ROOT, typer.Context(ROOT, info_name="weldcal")
    for word in path.split():
        command = command.get_command(ctx, word)
        ctx = typer.Context(command, parent=ctx, **command.context_settings)
    typed = arguments.read(command, ctx, words)
    arguments.fill(command, ctx, typed)
    return ctx.params, typed.rest


@pytest.mark.parametrize(
    ("path", "words", "expected", "rest"),
    [
        ("bleed", ["A1", "14", "1/4"], {"name": "A1", "place": "14", "readings": "1/4"}, []),
        ("bleed", ["A1", "--at=7:15", "14", "1/4"], {"at": "7:15", "place": "14"}, []),
        (
            "bleed",
            ["A1", "14", "1/4", "--note", "--json"],
            {"note": "--json", "as_json": False},
            [],
        ),
        (
            "bleed",
            ["--json", "A1", "14", "--", "--1/4"],
            {"as_json": True, "readings": "--1/4"},
            [],
        ),
        ("bleed", ["A1", "14", "1/4", "more"], {"readings": "1/4"}, ["more"]),
        ("bleed", ["A1", "14", "1/4", "--note", "a", "--note", "b"], {"note": "b"}, []),
        ("bleed", ["A1", "14", "-"], {"readings": "-"}, []),
        ("finding", ["A1", "void", "4", "--photo", "a", "--photo=b"], {"photo": ["a", "b"]}, []),
        ("probe walk", ["A1", "0-33", "void", "4"], {"words": ("0-33", "void", "4")}, []),
        ("probe walk", ["A1"], {"words": ()}, []),
        ("strip", ["record", "--speed", "5"], {}, ["record", "--speed", "5"]),
        ("", ["--job", "x", "roof", "--json"], {"job": "x"}, ["roof", "--json"]),
        ("strip line", ["5", "-5C", "--yes"], {"words": ("5", "-5C"), "yes": True}, []),
        ("strip record", [], {"speed": None, "photo": [], "as_json": False}, []),
    ],
)
def test_a_parameter_gets_its_words(
    path: str, words: list[str], expected: dict[str, Any], rest: list[str]
) -> None:
    """By name after a space or `=`, by place, as often as it may be given; else its default."""
    params, left = parameters(path, words)
    assert {name: params[name] for name in expected} == expected
    assert left == rest


@given(st.lists(st.text(max_size=4), max_size=6))
def test_every_word_is_taken_left_over_or_refused(words: list[str]) -> None:
    """Whatever is typed: never a crash, and no word is lost."""
    try:
        params, rest = parameters("bleed", words)
    except (WeldcalError, typer.Exit):
        return
    given = [value for value in params.values() if value is not None]
    assert len(rest) <= len(words)
    assert all(word in given for word in words[:1] if not word.startswith("-"))


def test_only_what_typer_shows_is_used() -> None:
    """No private name of typer's, no class found by what it is called."""
    for path in Path(weldcal.cli.__file__).parent.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("typer"):
                assert "._" not in f".{node.module}"
                assert not any(alias.name.startswith("_") for alias in node.names)
            if isinstance(node, ast.Attribute) and re.match(r"_[a-z]", node.attr):
                assert isinstance(node.value, ast.Name) and node.value.id in ("self", "cls", "args")
        assert "__name__ ==" not in text.replace('if __name__ == "__main__"', "")
