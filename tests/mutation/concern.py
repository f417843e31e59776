"""Which tests concern a line: those that ran it in a run that was watched.

Watching is coverage.py's: one context a test, also in what the
test starts as a process of its own, as long as it hands its environment on. The sources
as they were then are kept beside, so that a line is found again after later changes.
"""

from __future__ import annotations

import difflib
import json
import os
import shutil
import sqlite3
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.mutation.copies import copied, stand_in

# What a process started by a test does first: it is watched under that test's name.
_STARTED = """\
import atexit, os
if os.environ.get("PYTEST_CURRENT_TEST"):
    import coverage
    test = os.environ["PYTEST_CURRENT_TEST"].rpartition(" (")[0]
    watched = coverage.Coverage(
        data_file=os.environ["MUTATION_DATA"], data_suffix=True, context=test,
        config_file=False, source=[os.environ["MUTATION_SOURCE"]], messages=False,
    )
    watched.start()
    atexit.register(lambda: (watched.stop(), watched.save()))
"""


@dataclass(eq=False)  # pytest keeps plugins in sets
class Watched:
    """A pytest plugin that names the test whose lines are watched, and takes its time.

    Attributes:
        cover: coverage.py, running.
        seconds: test -> how long it took, its fixtures with it.
        failed: tests that did not pass; they concern nothing.
    """

    cover: Any
    seconds: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    failed: set[str] = field(default_factory=set)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        """Watch one test, its fixtures with it."""
        self.cover.switch_context(item.nodeid)
        return (yield)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Add the seconds of a test's parts."""
        self.seconds[report.nodeid] += report.duration
        if not report.passed:
            self.failed.add(report.nodeid)


def watch(root: Path, tests: list[str], into: Path) -> None:
    """Run tests in a copy and write which lines each ran; what is there from before stays."""
    into.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="weldcal-mutation-") as folder:
        copied(root, Path(folder))
        _watch(Path(folder), tests, into.resolve() / f"{os.getpid()}")


def _watch(copy: Path, tests: list[str], part: Path) -> None:
    import coverage

    source = copy / "weldcal"
    started = copy / "started"
    started.mkdir()
    (started / "sitecustomize.py").write_text(_STARTED)
    stand_in(copy)
    os.environ |= {
        "MUTATION_DATA": f"{part}-started.lines",
        "MUTATION_SOURCE": str(source),
        "PYTHONPATH": os.pathsep.join([str(started), str(copy)]),
    }
    cover = coverage.Coverage(
        data_file=f"{part}.lines", source=[str(source)], config_file=False, messages=False
    )
    plugin = Watched(cover)
    cover.start()
    pytest.main(["-q", "--no-header", *tests], plugins=[plugin])
    cover.stop()
    cover.save()
    seconds = {t: round(s, 3) for t, s in plugin.seconds.items() if t not in plugin.failed}
    Path(f"{part}.json").write_text(json.dumps(seconds))
    shutil.copytree(source, Path(f"{part}-sources"), ignore=shutil.ignore_patterns("__pycache__"))


@dataclass(frozen=True)
class Part:
    """One watched run.

    Attributes:
        sources: the folder of the package as it was watched.
        seconds: test -> how long it took.
        size: test -> how many lines it ran.
        lines: module -> test -> the lines it ran, as coverage.py's bits.
    """

    sources: Path
    seconds: dict[str, float]
    size: dict[str, int]
    lines: dict[str, dict[str, bytes]]


@dataclass(frozen=True)
class Concern:
    """What the watched runs saw; of a test watched twice, the later."""

    parts: tuple[Part, ...]
    seconds: dict[str, float]

    @classmethod
    def read(cls, folder: Path) -> Concern:
        """What earlier runs wrote."""
        seconds: dict[str, float] = {}
        parts = []
        for times in sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime):
            own = json.loads(times.read_text())
            parts = [_without(part, own) for part in parts]
            seconds |= own
            parts.append(_part(folder, times.stem, own))
        return cls(tuple(parts), seconds)

    def size(self, test: str) -> int:
        """How many lines of the program a test ran."""
        return next((part.size[test] for part in self.parts if test in part.seconds), 0)

    def running(self, module: str, text: str, lines: set[int]) -> list[str]:
        """The tests that ran any of these lines of a module, nearest first.

        Args:
            module: its path under the package's folder, as `rules/cold.py`.
            text: the module as it is now.
            lines: counted in that text.

        Nearest is a test that ran the fewest lines of the program besides.
        """
        found: dict[str, int] = {}
        for part in self.parts:
            wanted = _bits(_lines_then(part.sources / module, text, lines))
            for test, ran in part.lines.get(module, {}).items():
                if test in part.seconds and any(a & b for a, b in zip(wanted, ran, strict=False)):
                    found[test] = part.size[test]
        return sorted(found, key=lambda test: (found[test], test))

    def at_import(self, module: str, text: str, lines: set[int]) -> bool:
        """Whether any of these lines of a module ran before the first test did."""
        return any(
            a & b
            for part in self.parts
            for a, b in zip(
                _bits(_lines_then(part.sources / module, text, lines)),
                part.lines.get(module, {}).get("", b""),
                strict=False,
            )
        )

    def chosen(
        self,
        tests: list[str],
        near_s: float,
        further_s: float,
        own: str = "",
        named: str = "",
    ) -> list[str]:
        """The tests to try: the nearest for `near_s`, own ones for as long each, then others.

        Args:
            tests: nearest first.
            near_s: how long the nearest take when they pass; one is chosen at least.
            further_s: the same of the others.
            own: the folder of the room's own tests. A line that a thousand tests run is seldom
                the nearest test's matter; it is theirs.
            named: how the names of the files begin that bear the module's name, in any folder:
                `test_seam` of `quality/seam.py`. They are tried before the other own ones.

        Of its own the quickest are taken: they are the most. The others are taken from one
        file after the other, for they see other things.
        """
        chosen: list[str] = []
        spent = 0.0
        for test in tests:
            chosen.append(test)
            spent += self.seconds[test]
            if spent > near_s:
                break
        for is_own in (
            lambda test: named and test.partition("::")[0].rpartition("/")[2].startswith(named),
            lambda test: own and test.startswith(own),
        ):
            known = set(chosen)
            mine = [test for test in tests if is_own(test) and test not in known]
            mine.sort(key=lambda test: self.seconds[test])
            chosen += self._for(near_s, mine)
        known = set(chosen)
        chosen += self._for(further_s, _in_turn([test for test in tests if test not in known]))
        return chosen

    def _for(self, seconds: float, tests: Iterable[str]) -> Iterator[str]:
        """As many of the tests as fit into a time; one that does not fit is left out."""
        for test in tests:
            if self.seconds[test] <= seconds:
                seconds -= self.seconds[test]
                yield test


def _in_turn(tests: list[str]) -> Iterator[str]:
    by_file: dict[str, list[str]] = defaultdict(list)
    for test in tests:
        by_file[test.partition("::")[0]].append(test)
    while by_file:
        for file in list(by_file):
            yield by_file[file].pop(0)
            if not by_file[file]:
                del by_file[file]


def _without(part: Part, tests: dict[str, float]) -> Part:
    left = {test: s for test, s in part.seconds.items() if test not in tests}
    return Part(part.sources, left, part.size, part.lines)


def _part(folder: Path, name: str, seconds: dict[str, float]) -> Part:
    size: dict[str, int] = defaultdict(int)
    lines: dict[str, dict[str, bytes]] = defaultdict(dict)
    sources = folder / f"{name}-sources"
    for file in sorted(folder.glob(f"{name}*.lines*")):
        for path, test, bits in _rows(file):
            module = path.rpartition("/weldcal/")[2]
            before = lines[module].get(test, b"")
            lines[module][test] = _both(before, bits) if before else bits
            size[test] += int.from_bytes(bits, "little").bit_count()
    return Part(sources, seconds, size, lines)


def _rows(file: Path) -> list[tuple[str, str, bytes]]:
    with closing(sqlite3.connect(file)) as data:
        try:
            return data.execute(
                "SELECT path, context, numbits FROM line_bits"
                " JOIN file ON file.id = file_id JOIN context ON context.id = context_id"
            ).fetchall()
        except sqlite3.DatabaseError:  # of a process that was killed while it wrote
            return []


def _both(one: bytes, other: bytes) -> bytes:
    whole = int.from_bytes(one, "little") | int.from_bytes(other, "little")
    return whole.to_bytes(max(len(one), len(other)), "little")


def _bits(lines: set[int]) -> bytes:
    """A set of lines as coverage.py writes it: bit n of the bytes is line n."""
    whole = sum(1 << line for line in lines)
    return whole.to_bytes(whole.bit_length() // 8 + 1, "little")


def _lines_then(path: Path, text: str, lines: set[int]) -> set[int]:
    """Where lines stood when they were watched; a changed line stands for its neighbours."""
    if not path.exists():
        return set()
    then = path.read_text()
    if then == text:
        return lines
    found: set[int] = set()
    matcher = difflib.SequenceMatcher(None, then.split("\n"), text.split("\n"), autojunk=False)
    for _tag, a0, a1, b0, b1 in matcher.get_opcodes():
        for line in lines:
            if b0 < line <= b1:
                found |= {line - b0 + a0} if a1 - a0 == b1 - b0 else set(range(a0 + 1, a1 + 1))
    return found
