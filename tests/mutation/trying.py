"""Try faults: put each into a copy, run its tests, put it right again.

Most faults are in functions: the program and all tests concerned are loaded once, and each
fault is tried in a fork, where the function is given the faulty code. A fault outside of
functions, or in one that is called while the program and the tests are loaded (what it made is
held already), is tried in a fork of a process that has loaded nothing of the program. In
either case it stands in the file too, for what the tests start in processes of their own.
"""

from __future__ import annotations

import gc
import importlib
import os
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import pytest

from tests.mutation.copies import copied, stand_in
from tests.mutation.mutants import Mutant

PATIENCE = 4  # a fault is killed when its tests take this many times as long, and 30 s
_THERE = "there "
_QUIET = ["-x", "-q", "--no-header", "-p", "no:randomly", "-p", "no:xdist"]


@dataclass(frozen=True)
class Fault:
    """A fault, the tests that are tried on it, and how many ran its lines."""

    module: str
    mutant: Mutant
    tests: list[str]
    concerned: int


@dataclass(frozen=True)
class Trial:
    """What came of it; `left_out` counts tests that fail without the fault as well."""

    killed: bool
    seconds: float
    left_out: int = 0


def tried(
    root: Path, faults: list[Fault], seconds: dict[str, float]
) -> Iterator[tuple[Fault, Trial]]:
    """Try faults one after the other; those outside of functions last."""
    for name in ("hypothesis", "numpy", "scipy.stats", "sqlite_utils", "typer.main"):
        importlib.import_module(name)
    with tempfile.TemporaryDirectory(prefix="weldcal-mutation-") as folder:
        copy = Path(folder)
        copied(root, copy)
        cold: list[Fault] = []
        warm: list[Fault] = []
        for fault in faults:
            (warm if _in_functions(copy / fault.module, fault.mutant) else cold).append(fault)
        clean: dict[str, bool] = {}
        gone = {test for fault in faults for test in fault.tests}
        for fault, trial in _all_warm(copy, warm, seconds, clean, gone):
            if trial:
                yield fault, trial
            else:
                cold.append(fault)
        for fault in cold:
            there = replace(fault, tests=[test for test in fault.tests if test not in gone])
            yield fault, _try_one(copy, there, seconds, clean, partial(_cold, copy))


def _in_functions(path: Path, mutant: Mutant) -> bool:
    return _functions(path, mutant) is not None


def _functions(path: Path, mutant: Mutant) -> dict[tuple[str, int], CodeType] | None:
    """The functions whose code a fault changes, anew; None where it changes more than that."""
    plain = compile(path.read_text(), str(path), "exec", dont_inherit=True)
    faulty = compile(mutant.text, str(path), "exec", dont_inherit=True)
    found: dict[tuple[str, int], CodeType] = {}
    return found if _only_functions(plain, faulty, found) else None


def _only_functions(
    plain: CodeType, faulty: CodeType, found: dict[tuple[str, int], CodeType]
) -> bool:
    if plain.co_code != faulty.co_code or len(plain.co_consts) != len(faulty.co_consts):
        return False
    for one, other in zip(plain.co_consts, faulty.co_consts, strict=True):
        if not isinstance(one, CodeType):
            if type(one) is not type(other) or one != other:
                return False
        elif one != other:
            if one.co_flags & 0x2:  # CO_NEWLOCALS: a function; a class's body has it not
                found |= {_key(one): other, **_inner(one, other)}
            elif not _only_functions(one, other, found):
                return False
    return True


def _inner(plain: CodeType, faulty: CodeType) -> dict[tuple[str, int], CodeType]:
    """The functions within a function that a fault changes: some were made at import and live on."""
    were = {_key(one): one for one in plain.co_consts if isinstance(one, CodeType)}
    found: dict[tuple[str, int], CodeType] = {}
    for one in faulty.co_consts:
        if isinstance(one, CodeType) and one != (was := were.get(_key(one))) and was:
            found |= {_key(one): one, **_inner(was, one)}
    return found


def _key(code: CodeType) -> tuple[str, int]:
    return code.co_qualname, code.co_firstlineno


def _try_one(
    copy: Path,
    fault: Fault,
    seconds: dict[str, float],
    clean: dict[str, bool],
    run: Callable[[list[str], bool], int],
) -> Trial:
    """One fault; a test that fails without it as well is asked no more."""
    path = copy / fault.module
    plain, as_it_was = path.read_text(), path.stat()
    began = time.monotonic()
    tests = [test for test in fault.tests if clean.get(test, True)]
    killed = False
    while tests and not killed:
        path.write_text(fault.mutant.text)
        # Of another time than what is compiled of it, whatever the clock says.
        os.utime(path, (as_it_was.st_atime, as_it_was.st_mtime + 3600))
        try:
            failed = _forked(partial(run, tests, True), _patience(tests, seconds))
        finally:
            path.write_text(plain)
            os.utime(path, ns=(as_it_was.st_atime_ns, as_it_was.st_mtime_ns))
        if failed < 0:
            break
        if failed >= len(tests):  # it never came to an end
            killed = True
            break
        culprit = tests[failed]
        if culprit not in clean:
            clean[culprit] = (
                _forked(partial(run, [culprit], False), _patience([culprit], seconds)) < 0
            )
        killed = clean[culprit]
        tests = tests[failed + 1 :]
    left_out = sum(not clean.get(test, True) for test in fault.tests)
    return Trial(killed, time.monotonic() - began, left_out)


def _patience(tests: list[str], seconds: dict[str, float]) -> float:
    return 30 + PATIENCE * sum(seconds[test] for test in tests)


def _forked(run: Callable[[], int], patience_s: float) -> int:
    """Run in a fork; which of the tests failed first, -1 for none, 10**6 for no end."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.setsid()
        os.close(reading)
        try:
            os.write(writing, str(run()).encode())
        finally:
            os._exit(0)
    os.close(writing)
    until = time.monotonic() + patience_s
    gone = False
    while not gone and time.monotonic() < until:
        gone = os.waitpid(child, os.WNOHANG)[0] != 0
        time.sleep(0 if gone else 0.005)
    if not gone:
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
    with os.fdopen(reading) as said:
        # Nothing said: it was stopped, or it broke the process itself.
        return int((said.read() if gone else "") or 10**6)


@dataclass(eq=False)  # pytest keeps plugins in sets
class _First:
    """A pytest plugin: which of the tests, in their order, failed first."""

    order: list[str]
    failed: str = ""
    broken: bool = False

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep the first that failed."""
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """With some faults the tests cannot even be collected."""
        self.broken |= report.failed

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Nearest first, not file by file."""
        place = {test: n for n, test in enumerate(self.order)}
        items.sort(key=lambda item: place.get(item.nodeid, len(place)))

    def number(self) -> int:
        """The place of the first that failed; -1 for none."""
        if self.broken or (self.failed and self.failed not in self.order):
            return 10**6
        return self.order.index(self.failed) if self.failed else -1


def _cold(copy: Path, tests: list[str], _with_fault: bool) -> int:
    """Load everything, from files with or without the fault, and run tests."""
    stand_in(copy, quietly=True)
    first = _First(tests)
    code = pytest.main([*_QUIET, *tests], plugins=[first])
    return first.number() if first.failed or code == 0 else 10**6


@dataclass(eq=False)  # pytest keeps plugins in sets
class _Loop:
    """A pytest plugin that runs, in place of all tests, one fault after the other."""

    copy: Path
    faults: list[Fault]
    seconds: dict[str, float]
    clean: dict[str, bool]
    said: int
    live: dict[tuple[str, str, int], list[FunctionType]] = field(default_factory=dict)
    called: set[CodeType] = field(default_factory=set)

    def note_calls(self) -> None:
        """Note from here on, until all is loaded, which functions of the program are called."""
        within = str(self.copy / "weldcal")

        def note(frame: FrameType, event: str, _value: object) -> None:
            if event == "call" and frame.f_code.co_filename.startswith(within):
                self.called.add(frame.f_code)

        sys.setprofile(note)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try them all."""
        items = {item.nodeid: item for item in session.items}
        os.write(self.said, "".join(f"{_THERE}{test}\n" for test in items).encode())
        self._load()
        sys.setprofile(None)
        called = {(code.co_filename, *_key(code)) for code in self.called}
        gc.collect()
        gc.freeze()
        for n, fault in enumerate(self.faults):
            known = [test for test in fault.tests if test in items]
            one = Fault(fault.module, fault.mutant, known, fault.concerned)
            path = self.copy / fault.module
            new = _functions(path, fault.mutant) or {}
            if any((str(path), *key) in called for key in new):
                os.write(self.said, f"{n} cold 0 0\n".encode())
                continue
            run = _Run(session, items, self.live, str(path), new)
            trial = _try_one(self.copy, one, self.seconds, self.clean, run)
            told = f"{n} {trial.killed:d} {trial.seconds:.1f} {trial.left_out}\n"
            os.write(self.said, told.encode())
        return True

    def _load(self) -> None:
        """Every module of the program, and who holds which code."""
        for path in sorted((self.copy / "weldcal").rglob("*.py")):
            name = ".".join(path.relative_to(self.copy).with_suffix("").parts)
            if "checker" not in name and "__main__" not in name and "office" not in name:
                importlib.import_module(name.removesuffix(".__init__"))
        for one in gc.get_objects():
            if isinstance(one, FunctionType) and one.__code__.co_filename.startswith(
                str(self.copy / "weldcal")
            ):
                key = (one.__code__.co_filename, *_key(one.__code__))
                self.live.setdefault(key, []).append(one)


@dataclass(frozen=True)
class _Run:
    """Run some tests with a function's code replaced; called in a fork."""

    session: Any
    items: dict[str, Any]
    live: dict[tuple[str, str, int], list[FunctionType]]
    path: str
    new: dict[tuple[str, int], CodeType]

    def __call__(self, tests: list[str], with_fault: bool) -> int:
        """Which of them failed first; -1 for none."""
        for key, code in self.new.items() if with_fault else ():
            for function in self.live.get((self.path, *key), ()):
                function.__code__ = code
        first = _First(tests)
        self.session.config.pluginmanager.register(first)
        chosen = [self.items[test] for test in tests]
        for n, item in enumerate(chosen):
            following = chosen[n + 1] if n + 1 < len(chosen) else None
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if first.failed:
                break
        return first.number()


def _all_warm(
    copy: Path,
    faults: list[Fault],
    seconds: dict[str, float],
    clean: dict[str, bool],
    gone: set[str],
) -> Iterator[tuple[Fault, Trial | None]]:
    """Faults in functions: a process that has loaded everything says what came of each.

    Nothing comes of one whose function was called already. Of `gone`, the tests that are there
    are taken out: those that are gone since they were watched would look like kills.
    """
    files = sorted({file for test in gone if (copy / (file := test.partition("::")[0])).exists()})
    if not files:
        yield from ((fault, Trial(False, 0)) for fault in faults)
        return
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            stand_in(copy, quietly=True)
            loop = _Loop(copy, faults, seconds, clean, writing)
            loop.note_calls()
            pytest.main([*_QUIET, *files], plugins=[loop])
        finally:
            os._exit(0)
    os.close(writing)
    came = 0
    with os.fdopen(reading) as said:
        for line in said:
            if line.startswith(_THERE):
                gone.discard(line.removeprefix(_THERE).rstrip("\n"))
                continue
            n, killed, took, left = line.split()
            came += 1
            trial = None if killed == "cold" else Trial(killed == "1", float(took), int(left))
            yield faults[int(n)], trial
    os.waitpid(child, 0)
    if came < len(faults):
        raise RuntimeError("the tests cannot be collected")
