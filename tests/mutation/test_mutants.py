"""The faults themselves: one change each, in its place, and nothing else moved."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import weldcal
from tests.mutation.concern import Concern
from tests.mutation.mutants import mutants

MODULE = '''\
"""A module."""

from weldcal import settings

LIMIT = 3
ENDS: tuple[int, ...] = (1, 2)


@cache(5)
def judged(width: float, by: str = "é") -> bool:
    """Is it inside: 3 > 2."""
    assert width > 0
    if not width or LIMIT <= width < 2.0 and by == "x":
        return False
    return (
        width * 25.4
        + 1 > 3
    )


def nothing() -> None:
    return None
'''


def test_every_fault_is_there_and_no_other() -> None:
    """Not in sentences, annotations, decorators or assertions."""
    found = [(m.line, m.function, m.kind, m.before, m.after) for m in mutants(MODULE)]
    assert sorted(found) == [
        (5, "", "constant", "3", "4"),
        (6, "", "constant", "1", "2"),
        (6, "", "constant", "2", "3"),
        (
            13,
            "judged",
            "boolean",
            'LIMIT <= width < 2.0 and by == "x"',
            "(LIMIT <= width < 2.0 or by == 'x')",
        ),
        (13, "judged", "boolean", "not width", "(width)"),
        (
            13,
            "judged",
            "boolean",
            'not width or LIMIT <= width < 2.0 and by == "x"',
            "(not width and (LIMIT <= width < 2.0 and by == 'x'))",
        ),
        (13, "judged", "comparison", "LIMIT <= width < 2.0", "(LIMIT < width < 2.0)"),
        (13, "judged", "comparison", 'by == "x"', "(by != 'x')"),
        (13, "judged", "constant", "2.0", "2.5"),
        (14, "judged", "constant", "False", "True"),
        (14, "judged", "return", "return False", "return None"),
        (
            15,
            "judged",
            "return",
            "return (\n        width * 25.4\n        + 1 > 3\n    )",
            "return None",
        ),
        (16, "judged", "arithmetic", "width * 25.4", "(width / 25.4)"),
        (16, "judged", "arithmetic", "width * 25.4\n        + 1", "(width * 25.4 - 1)"),
        (16, "judged", "comparison", "width * 25.4\n        + 1 > 3", "(width * 25.4 + 1 >= 3)"),
        (16, "judged", "constant", "25.4", "31.75"),
        (17, "judged", "constant", "1", "2"),
        (17, "judged", "constant", "3", "4"),
    ]


@pytest.mark.parametrize("module", ["rules/welded.py", "quality/coverage.py", "tables/columns.py"])
def test_a_fault_changes_the_program_in_one_place(module: str) -> None:
    """Each can be read, differs from the module, and has as many lines."""
    text = (Path(weldcal.__file__).parent / module).read_text(encoding="utf-8")
    plain = ast.dump(ast.parse(text))
    found = list(mutants(text))
    assert found
    for one in found:
        assert ast.dump(ast.parse(one.text)) != plain
        assert one.text.count("\n") == text.count("\n")


def test_the_nearest_tests_come_first_within_the_time() -> None:
    """Those that call least besides; one at least; a module's callers where nobody called the function."""
    concern = Concern(
        called={
            "t::wide": ["m.py:f", "m.py:g", "n.py:h"],
            "t::near": ["m.py:f"],
            "t::other": ["n.py:h"],
        },
        seconds={"t::wide": 5.0, "t::near": 1.0, "t::other": 1.0},
    )
    assert concern.of("m.py", "f", 10.0) == ["t::near", "t::wide"]
    assert concern.of("m.py", "f", 2.0) == ["t::near"]
    assert concern.of("m.py", "g", 2.0) == ["t::wide"]
    assert concern.of("m.py", "unseen", 10.0) == ["t::near", "t::wide"]
    assert concern.of("o.py", "f", 10.0) == []
