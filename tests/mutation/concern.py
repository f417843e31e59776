"""Which tests concern a function: those that called it in a run that was watched.

A test that starts the program in another process is not seen calling anything; the
module's own importers stand in for what nothing was seen to call.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest


@dataclass
class Watched:
    """A pytest plugin that notes which functions of the program each test calls.

    Attributes:
        root: the folder of the tree under test.
        called: test -> functions, as `weldcal/rules/cold.py:is_cold`.
        seconds: test -> how long it took; tests that failed are left out of both.
    """

    root: Path
    called: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    seconds: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    failed: set[str] = field(default_factory=set)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        """Watch one test, its fixtures with it."""
        codes: set[CodeType] = set()
        add = codes.add

        def note(frame: FrameType, _event: str, _value: object) -> None:
            add(frame.f_code)

        sys.setprofile(note)
        try:
            return (yield)
        finally:
            sys.setprofile(None)
            self.called[_name(item.nodeid)] |= set(filter(None, map(self._function, codes)))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Add the seconds of a test's parts; one that fails concerns nothing."""
        name = _name(report.nodeid)
        self.seconds[name] += report.duration
        if not report.passed:
            self.failed.add(name)

    def _function(self, code: CodeType) -> str | None:
        path = Path(code.co_filename)
        if not path.is_relative_to(self.root / "weldcal") or code.co_name == "<module>":
            return None
        return f"{path.relative_to(self.root)}:{code.co_qualname}"


def _name(nodeid: str) -> str:
    """A test by its function, whatever it was given."""
    return nodeid.partition("[")[0]


@dataclass(frozen=True)
class Concern:
    """What a watched run saw."""

    called: dict[str, list[str]]
    seconds: dict[str, float]

    @classmethod
    def read(cls, path: Path) -> Concern:
        """What an earlier run wrote."""
        return cls(**json.loads(path.read_text()))

    def of(self, module: str, function: str, budget_s: float) -> list[str]:
        """The tests nearest to a function, as many as the budget allows and at least one.

        Nearest is a test that calls the fewest functions besides. A change at a module's
        top, and a function nobody was seen to call, concern whoever calls into the module.
        """
        exact = f"{module}:{function}"
        tests = [test for test, called in self.called.items() if exact in called]
        tests = tests or [
            test
            for test, called in self.called.items()
            if any(name.startswith(f"{module}:") for name in called)
        ]
        chosen, spent = [], 0.0
        for test in sorted(tests, key=lambda test: len(self.called[test])):
            spent += self.seconds[test]
            if chosen and spent > budget_s:
                break
            chosen.append(test)
        return chosen


def watch(root: Path, tests: list[str], into: Path) -> None:
    """Run tests and write which functions each called; a map that is there is added to."""
    plugin = Watched(root)
    pytest.main(["-q", "--no-header", *tests], plugins=[plugin])
    old = Concern.read(into) if into.exists() else Concern({}, {})
    passed = [test for test in plugin.called if test not in plugin.failed]
    called = old.called | {test: sorted(plugin.called[test]) for test in passed}
    seconds = old.seconds | {test: round(plugin.seconds[test], 3) for test in passed}
    into.write_text(json.dumps({"called": called, "seconds": seconds}))
