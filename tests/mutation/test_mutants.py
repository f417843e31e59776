"""The faults themselves: one change each, in its place, and nothing else moved."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import weldcal
from tests.mutation.concern import Concern, Part
from tests.mutation.mutants import is_none, mutants
from tests.mutation.trying import Fault, tried
from tests.mutation.users import Users

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


@pytest.mark.parametrize(
    "line",
    [
        "x = low_m < high_m",
        "x = gap >= SAME_PLACE_M",
        "x = share > 1e-9",
        "time.sleep(0.5)",
        "rng = default_rng(seed + 7)",
        "x = zip(a, b, strict=True)",
        "x = solve(f, xtol=0.01)",
        "x = cast(Any, 1)",
        "if TYPE_CHECKING:\n    X = 1",
        "class Held:\n    def __repr__(self) -> str:\n        return str(1)",
        "class Read(Protocol):\n    size: int = 1",
        "@overload\ndef read(a: int = 1) -> int: ...",
    ],
)
def test_what_changes_nothing_is_no_fault(line: str) -> None:
    """Each by a rule that the module states."""
    assert list(mutants(line + "\n")) == []


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("x = low_m < high", "(low_m <= high)"),
        ("x = low_m == high_m", "(low_m != high_m)"),
        ("x = f(times=3)", "4"),
        ("x = 1_000_000", "1250000"),
    ],
)
def test_what_only_looks_like_it_is_one(line: str, after: str) -> None:
    """The rules take no more than they say."""
    assert [one.after for one in mutants(line + "\n")] == [after]


def test_what_compiles_to_the_same_is_no_fault() -> None:
    """A number that is thrown away at once, and one that is not."""
    text = "def f():\n    3\n    return 4\n"
    assert [is_none(text, one) for one in mutants(text)] == [True, False, False]


def test_a_no_is_a_no_from_a_function_that_says_so() -> None:
    """None for False is the same answer; True for False is another."""
    found = [one.after for one in mutants("def f() -> bool:\n    return False\n")]
    assert found == ["True"]


def _seen(folder: Path, text: str, ran: dict[str, set[int]], seconds: dict[str, float]) -> Concern:
    """A watched run of one module, `m.py`."""
    (folder / "m.py").write_text(text)
    lines = {t: sum(1 << n for n in found).to_bytes(4, "little") for t, found in ran.items()}
    size = {t: len(found) for t, found in ran.items()}
    return Concern((Part(folder, seconds, size, {"m.py": lines}),), seconds)


def test_the_tests_of_a_line_are_those_that_ran_it_nearest_first(tmp_path: Path) -> None:
    """Those that ran least besides come first, and a line that moved is found again."""
    text = "a\nb\nc\n"
    ran = {"t::wide": {1, 2, 3}, "t::near": {1, 3}, "t::other": {2}}
    concern = _seen(tmp_path, text, ran, dict.fromkeys(ran, 1.0))
    assert concern.running("m.py", text, {3}) == ["t::near", "t::wide"]
    assert concern.running("m.py", "new\n" + text, {3}) == ["t::other", "t::wide"]
    assert concern.running("m.py", "a\nB\nc\n", {2}) == ["t::other", "t::wide"]
    assert concern.running("other.py", text, {1}) == []


def test_further_tests_come_from_other_files(tmp_path: Path) -> None:
    """Within the time, and one at least; then one file after the other."""
    times = {"a::1": 1.0, "a::2": 1.0, "a::3": 1.0, "b::1": 1.0, "b::2": 9.0}
    concern = _seen(tmp_path, "", {}, times)
    assert concern.chosen(list(times), 0.5, 0.0) == ["a::1"]
    assert concern.chosen(list(times), 0.5, 2.0) == ["a::1", "a::2", "b::1"]
    assert concern.chosen([], 0.5, 2.0) == []


def test_the_rooms_own_tests_are_tried_though_others_are_nearer(tmp_path: Path) -> None:
    """For as long as the nearest, quickest first."""
    times = {"a::1": 1.0, "a::2": 1.0, "own/c::1": 0.9, "own/c::2": 0.1, "own/d::1": 0.8}
    concern = _seen(tmp_path, "", {}, times)
    assert concern.chosen(list(times), 1.0, 0.0, "own/") == ["a::1", "a::2", "own/c::2", "own/d::1"]
    assert concern.chosen(list(times), 0.5, 1.0, "own/") == ["a::1", "own/c::2", "a::2"]
    times = {"a::1": 1.0, "a::2": 1.0, "x/test_m_of::1": 0.4, "own/c::1": 0.9}
    concern = _seen(tmp_path, "", {}, times)
    chosen = concern.chosen(list(times), 0.5, 0.0, "own/", "test_m")
    assert chosen == ["a::1", "x/test_m_of::1"]
    assert concern.chosen(list(times), 0.95, 0.0, "own/", "test_m")[1:] == [
        "x/test_m_of::1",
        "own/c::1",
    ]
    times = {"a::1": 1.0, "b::1": 9.0, "b::2": 1.0}  # what does not fit stops nothing
    concern = _seen(tmp_path, "", {}, times)
    assert concern.chosen(list(times), 0.5, 2.0) == ["a::1", "b::2"]


def test_a_constant_is_used_where_it_or_what_is_made_of_it_is_read(tmp_path: Path) -> None:
    """Through another constant and in another module; not where it is only made."""
    (tmp_path / "m.py").write_text("FOOT = 0.3\nLONG = 2 * FOOT\n\ndef f():\n    return LONG\n")
    (tmp_path / "n.py").write_text("import m\n\ndef g():\n    return m.FOOT\n")
    assert Users.of(tmp_path).using("FOOT") == {"m.py": {5}, "n.py": {4}}


def test_constants_made_in_one_line_are_each_looked_for() -> None:
    """By any of their names."""
    assert [one.named for one in mutants("A, B = 20, 4\n")] == ["A B", "A B"]


def project(place: Path, module: str, tests: str) -> None:
    """A package of one module, and its tests."""
    for folder in ("weldcal", "tests"):
        (place / folder).mkdir()
        (place / folder / "__init__.py").touch()
    (place / "weldcal/m.py").write_text(module)
    (place / "tests/test_m.py").write_text(tests)
    (place / "pyproject.toml").write_text("[tool.pytest.ini_options]\n")


def test_a_fault_is_killed_by_a_test_that_fails_only_with_it(tmp_path: Path) -> None:
    """In a function and outside of one; a test that fails anyway, or is gone, kills nothing."""
    text = "LIMIT = 3\n\n\ndef over(n):\n    return n > LIMIT\n"
    project(
        tmp_path,
        text,
        "from weldcal.m import over\n\n\n"
        "def test_over():\n    assert over(4)\n\n\n"
        "def test_never():\n    assert not over(9)\n",
    )
    near, never = "tests/test_m.py::test_over", "tests/test_m.py::test_never"
    by_line = {(one.line, one.kind): one for one in mutants(text)}
    faults = [
        Fault("weldcal/m.py", by_line[5, "return"], [never, near], 2),
        Fault("weldcal/m.py", by_line[5, "comparison"], [never, near], 2),
        Fault("weldcal/m.py", by_line[1, "constant"], [near], 1),
        Fault("weldcal/m.py", by_line[1, "constant"], [never], 1),
        Fault("weldcal/m.py", by_line[1, "constant"], ["tests/test_m.py::test_gone"], 1),
        Fault("weldcal/m.py", by_line[5, "return"], ["tests/test_gone.py::test_gone", near], 1),
    ]
    trials = [trial for _, trial in tried(tmp_path, faults, {near: 0.1, never: 0.1})]
    came = [trial.killed for trial in trials]
    assert came == [True, False, True, True, False, False]
    assert [trial.left_out for trial in trials] == [0, 1, 0, 0, 1, 0]


def test_a_fault_in_what_is_called_at_import_is_tried_too(tmp_path: Path) -> None:
    """What such a function made, and a function it made, are held before the fault is put in."""
    text = (
        "def limits():\n    return [3]\n\n\n"
        "def over_by(least):\n    def over(n):\n        return n > least\n\n    return over\n\n\n"
        "LIMITS = limits()\nover = over_by(2)\n"
    )
    project(
        tmp_path,
        text,
        "from weldcal.m import LIMITS, over\n\n\n"
        "def test_limits():\n    assert LIMITS == [3]\n\n\n"
        "def test_over():\n    assert not over(2)\n",
    )
    limits, over = "tests/test_m.py::test_limits", "tests/test_m.py::test_over"
    by_line = {(one.line, one.kind): one for one in mutants(text)}
    faults = [
        Fault("weldcal/m.py", by_line[2, "constant"], [limits], 1),
        Fault("weldcal/m.py", by_line[7, "comparison"], [over], 1),
        Fault("weldcal/m.py", by_line[7, "comparison"], [limits], 1),
    ]
    came = {
        (f.mutant.line, f.tests[0]): trial.killed
        for f, trial in tried(tmp_path, faults, {limits: 0.1, over: 0.1})
    }
    assert came == {(2, limits): True, (7, over): True, (7, limits): False}
