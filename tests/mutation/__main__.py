"""Put faults into a room, one at a time, and count how many the tests notice.

    python -m tests.mutation --watch tests/rules tests/quality   # once: which test runs what
    python -m tests.mutation rules log --sample 30               # of each; loaded once

Everything happens in a copy of the package and its tests in a temporary folder. A fault is
killed when a test that ran its lines fails with it and passes without it, or when the tests
outlast their time; else it survives, and is shown. First the nearest tests are tried, as
many as take `--seconds`, then those in files of the module's name and those in the room's own
folder of tests, for as long each, then others for `--further`. What no test runs survives.
`mutants.py` says which changes are no faults.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
from collections import Counter
from itertools import islice
from pathlib import Path

from tests.mutation.concern import Concern, watch
from tests.mutation.mutants import Mutant, is_none, mutants
from tests.mutation.trying import Fault, Trial, tried
from tests.mutation.users import Users

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "weldcal"
Found = tuple[Path, Mutant]
MAP = Path(tempfile.gettempdir()) / "weldcal-mutation"


def main() -> None:
    """Read the command line, and do the one or the other."""
    parser = argparse.ArgumentParser(prog="tests.mutation", description=__doc__)
    parser.add_argument(
        "room", nargs="*", help="a folder or module of weldcal: rules, book; . is those in none"
    )
    parser.add_argument("--watch", nargs="+", metavar="TESTS", help="note which test runs what")
    parser.add_argument("--map", type=Path, default=MAP, help="the folder where that is kept")
    parser.add_argument("--sample", type=int, default=20, help="faults, chosen by chance")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=10, help="of the nearest tests")
    parser.add_argument("--further", type=float, default=20, help="seconds of other tests")
    parser.add_argument("--again", type=Path, help="what an earlier run showed, and nothing else")
    asked = parser.parse_args()
    if asked.watch:
        watch(ROOT, asked.watch, asked.map)
    elif asked.room and asked.map.exists():
        _judge(asked)
    else:
        parser.error("name a room; and --watch the tests first, once")


def _judge(asked: argparse.Namespace) -> None:
    concern = Concern.read(asked.map)
    users = Users.of(PACKAGE)
    faults: list[Fault] = []
    killed: Counter[str] = Counter()
    unseen: Counter[str] = Counter()
    fit, room_of = {}, {}
    for room in asked.room:
        found = [
            (path, one) for path in _modules(PACKAGE / room) for one in mutants(path.read_text())
        ]
        if asked.again:
            found = _shown_in(asked.again, found)
        fit[room] = len(found)
        random.Random(asked.seed).shuffle(found)
        fits = (f for f in found if not is_none(f[0].read_text(), f[1]))
        for path, one in islice(fits, asked.sample):
            tests = concerned(concern, users, path, one)
            own = _own_tests(path.relative_to(PACKAGE))
            tried_on = concern.chosen(tests, asked.seconds, asked.further, own, f"test_{path.stem}")
            faults.append(Fault(str(path.relative_to(ROOT)), one, tried_on, len(tests)))
            room_of[faults[-1].module] = room
    for n, (fault, trial) in enumerate(tried(ROOT, faults, concern.seconds), 1):
        print(f"{n} of {len(faults)}: {room_of[fault.module]}", file=sys.stderr)
        killed[room_of[fault.module]] += trial.killed
        unseen[room_of[fault.module]] += not fault.tests
        _show(fault, trial)
    chosen = Counter(room_of[fault.module] for fault in faults)
    for room in asked.room:
        share = round(100 * killed[room] / chosen[room]) if chosen[room] else 0
        print(
            f"{room}: {killed[room]} of {chosen[room]} killed ({share} %) of {fit[room]} faults; "
            f"seed {asked.seed}; run by no test: {unseen[room]}"
        )


def _modules(place: Path) -> list[Path]:
    """The modules of a room; of the package itself only those that stand in no room."""
    if place.is_file():
        return [place]
    return sorted(place.glob("*.py") if place == PACKAGE else place.rglob("*.py"))


def _own_tests(module: Path) -> str:
    """How the tests of a module's room begin: its folder's; in no room, those that are in none."""
    return f"tests/{module.parts[0]}/" if module.parent.name else "tests/test_"


def concerned(concern: Concern, users: Users, path: Path, one: Mutant) -> list[str]:
    """The tests that ran a fault's lines, or a line that uses what it makes; nearest first."""
    text, module = path.read_text(), str(path.relative_to(PACKAGE))
    tests: dict[str, None] = {}
    if not one.named:
        tests |= dict.fromkeys(concern.running(module, text, set(one.lines)))
        if tests and not concern.at_import(module, text, set(one.lines)):
            return list(tests)
    # What a function makes at import is used where the names are that it made.
    # The default of a method is used where the method is called.
    names = one.named or f"{one.function.partition('.')[0]} {one.function.rpartition('.')[2]}"
    for name in dict.fromkeys(names.split()):
        for module, lines in users.using(name).items():
            text = (PACKAGE / module).read_text()
            tests |= dict.fromkeys(concern.running(module, text, lines))
    return sorted(tests, key=lambda test: concern.size(test))


def _shown_in(report: Path, found: list[Found]) -> list[Found]:
    """The faults that survived in an earlier run; of several alike, those nearest to their lines."""
    lines = re.findall(r"^weldcal/(\S+):(\d+) (.*)$", report.read_text(), re.M)
    again: list[Found] = []
    for module, line, said in lines:
        alike = [f for f in found if f[0] == PACKAGE / module and said == _said(f[1])]
        nearest = sorted(alike, key=lambda f: abs(f[1].line - int(line)))
        again += nearest[:1]
    return again


def _said(one: Mutant) -> str:
    return f"{one.kind}: {one.before!r} -> {one.after!r}"


def _show(fault: Fault, trial: Trial) -> None:
    if trial.killed:
        return
    one = fault.mutant
    print(f"{fault.module}:{one.line} {_said(one)}")
    print(
        f"    {len(fault.tests)} of {fault.concerned} tests in {trial.seconds:.0f} s, "
        f"{trial.left_out} left out, for they fail anyway: "
        f"{' '.join(fault.tests[:3])}",
        flush=True,
    )


if __name__ == "__main__":
    main()
