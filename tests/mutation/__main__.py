"""Put faults into a room, one at a time, and count how many the tests notice.

    python -m tests.mutation --watch tests/rules tests/quality   # once: which test calls what
    python -m tests.mutation rules --sample 30

Everything happens in a copy of the tree in a temporary folder. A fault is killed when a
test of those nearest to it fails, or when they outlast their time; else it survives, and
is shown. Survivors are looked at by a person: some change nothing that can be seen.
"""

from __future__ import annotations

import argparse
import importlib
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.mutation.concern import Concern, watch
from tests.mutation.mutants import Mutant, mutants

ROOT = Path(__file__).resolve().parents[2]
MAP = Path(tempfile.gettempdir()) / "weldcal-mutation.json"
COPIED = ("weldcal", "tests", "fixtures", "shared", "docs", "pyproject.toml", "README.md")
PATIENCE = 4  # a fault is killed when its tests take this many times as long, and 30 s


def main() -> None:
    """Read the command line, and do the one or the other."""
    parser = argparse.ArgumentParser(prog="tests.mutation", description=__doc__)
    parser.add_argument("room", nargs="?", help="a folder or module of weldcal: rules, book")
    parser.add_argument("--watch", nargs="+", metavar="TESTS", help="note which test calls what")
    parser.add_argument("--map", type=Path, default=MAP, help="where that is kept")
    parser.add_argument("--sample", type=int, default=20, help="faults, chosen by chance")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=30, help="of tests for one fault")
    asked = parser.parse_args()
    if asked.watch:
        watch(ROOT, asked.watch, asked.map)
    elif asked.room and asked.map.exists():
        _judge(asked)
    else:
        parser.error("name a room; and --watch the tests first, once")


def _judge(asked: argparse.Namespace) -> None:
    concern = Concern.read(asked.map)
    found = [(path, one) for path in _modules(asked.room) for one in mutants(path.read_text())]
    chosen = random.Random(asked.seed).sample(found, min(asked.sample, len(found)))
    _load_others()
    killed = nobody = 0
    with tempfile.TemporaryDirectory(prefix="weldcal-mutation-") as folder:
        for name in COPIED:
            _copy(ROOT / name, Path(folder) / name)
        planned = []
        for path, one in chosen:
            module = str(path.relative_to(ROOT))
            planned.append((module, one, concern.of(module, one.function, asked.seconds)))
        every = sorted({test for _module, _one, tests in planned for test in tests})
        if every and _run(Path(folder), ["--collect-only", *every], 300):
            raise RuntimeError("some tests are gone since they were watched: watch them anew")
        for module, one, tests in planned:
            if tests and _notice(Path(folder), module, one, tests, concern):
                killed += 1
                continue
            nobody += not tests
            print(f"{module}:{one.line} {one.kind}: {one.before!r} -> {one.after!r}")
            print(f"    {len(tests)} tests: {' '.join(tests[:3])}", flush=True)
    share = round(100 * killed / len(chosen)) if chosen else 0
    print(
        f"{asked.room}: {killed} of {len(chosen)} killed ({share} %) of {len(found)} faults; "
        f"seed {asked.seed}; called by no test: {nobody}"
    )


def _modules(room: str) -> Iterator[Path]:
    place = ROOT / "weldcal" / room
    yield from [place] if place.is_file() else sorted(place.rglob("*.py"))


def _copy(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    elif source.exists():
        shutil.copyfile(source, target)


def _load_others() -> None:
    """What is not ours, once: every fault's process is a fork of this one."""
    for name in ("hypothesis", "numpy", "scipy.stats", "sqlite_utils", "typer.main"):
        importlib.import_module(name)


def _notice(folder: Path, module: str, one: Mutant, tests: list[str], concern: Concern) -> bool:
    """Whether a test fails with the fault in place."""
    path = folder / module
    whole = path.read_text()
    path.write_text(one.text)
    patience = 30 + PATIENCE * sum(concern.seconds[test] for test in tests)
    try:
        return _run(folder, tests, patience) != 0
    finally:
        path.write_text(whole)


def _run(folder: Path, tests: list[str], patience_s: float) -> int:
    """Run tests in a process of their own: 0 where all pass; anything else kills."""
    child = os.fork()
    if child == 0:
        os.setsid()
        os._exit(_in_child(folder, tests))
    until = time.monotonic() + patience_s
    while time.monotonic() < until:
        gone, status = os.waitpid(child, os.WNOHANG)
        if gone:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -1


def _in_child(folder: Path, tests: list[str]) -> int:
    """Forget this tree, stand in the copy, and run."""
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "weldcal")]:
        del sys.modules[name]
    os.chdir(folder)
    sys.path[:] = [str(folder), *(p for p in sys.path if p not in ("", str(ROOT)))]
    os.environ["PYTHONPATH"] = str(folder)
    sys.dont_write_bytecode = True
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    return int(pytest.main(["-x", "-q", "--no-header", "-p", "no:randomly", *tests]))


if __name__ == "__main__":
    main()
