"""A real terminal with somebody at it: `weldcal` typed at a shell's prompt, on the job's clock."""

from __future__ import annotations

import os
import re
import shlex
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pexpect
import pytest

ESCAPE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
PROMPT = "ready$ "
# What `weldcal` is on this terminal: the program, on a clock set to the day of the tests.
# The tests may set that clock forward while the program runs.
PROGRAM = """
import sys, time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from weldcal.cli import guide, main
def clock():
    ahead = float(Path(__file__).with_name("ahead").read_text())
    return datetime.now(UTC) + timedelta(seconds=ahead)
sys.exit(main.main(["--book", {book!r}, *sys.argv[1:]], clock=clock))
"""


@dataclass
class Terminal:
    """A shell at a terminal; counts what is typed."""

    child: Any
    columns: int
    keys: list[str] = field(default_factory=list)
    seen: str = ""
    last: str = ""
    waiting: bool = False

    def type(self, *texts: str) -> None:
        """Type each text and Enter, each when it is asked for."""
        for text in texts:
            self.asked()
            self.keys.append(text + "\r")
            self._press(text + "\r")

    def asked(self, what: str = "") -> str:
        """Wait for a question (one with these words); what was shown since the last one."""
        if not self.waiting:
            self.child.expect(r"(?:: |> |ready\$ )$")
            self.last = ESCAPE.sub("", self.child.before + self.child.after).replace("\r", "")
            self.seen += self.last
            self.waiting = True
        assert what in " ".join(self.last.split()), self.last
        return self.last

    def _press(self, keys: str) -> None:
        self.waiting = False
        self.child.send(keys)

    def ctrl_c(self) -> None:
        """Interrupt, as soon as a hand could: Python reads the key a moment after it has asked."""
        self.asked()
        time.sleep(0.4)
        self._press("\x03")
        self.asked("type weldcal to go on")

    def kill(self) -> None:
        """The battery dies: the program has no time for anything."""
        self.asked()
        (pid,) = Path(f"/proc/{self.child.pid}/task/{self.child.pid}/children").read_text().split()
        self.waiting = False
        os.kill(int(pid), 9)
        self.asked("Killed")

    def too_wide(self) -> list[str]:
        """Lines that overran the screen."""
        said = [row for row in self.seen.splitlines() if not row.startswith((PROMPT, "+", "bash"))]
        return [row for row in said if len(row) > self.columns]


def ahead(folder: Path, moment: datetime) -> None:
    """Set the clock of the programs at a folder's terminals; it goes on from there."""
    seconds = (moment - datetime.now(UTC)).total_seconds()
    part = folder / "ahead.part"
    part.write_text(str(seconds))
    part.replace(folder / "ahead")


@pytest.fixture
def terminal(job: Any, tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Sit down at a terminal of so many columns; the clock goes on from the job's."""
    spawned = []
    around = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "TERM")}

    def sit_down(columns: int = 80, rows: int = 60, **env: str) -> Terminal:
        script = tmp_path / "program.py"
        script.write_text(PROGRAM.format(book=str(job.book)))
        ahead(tmp_path, job.clock())
        shim = tmp_path / "bin" / "weldcal"
        shim.parent.mkdir(exist_ok=True)
        shim.write_text(
            f'#!/bin/sh\nexec {shlex.quote(sys.executable)} {shlex.quote(str(script))} "$@"\n'
        )
        shim.chmod(0o755)
        child = pexpect.spawn(
            "bash",
            ["--norc", "--noprofile", "--noediting", "-i"],
            encoding="utf-8",
            codec_errors="replace",
            timeout=20,
            dimensions=(rows, columns),
            env={
                **around,
                "TERM": "dumb",
                **env,
                "PS1": PROMPT,
                "PATH": f"{shim.parent}:{os.environ['PATH']}",
            },
        )
        child.delaybeforesend = None
        spawned.append(child)
        return Terminal(child, columns)

    yield sit_down
    for child in spawned:
        child.close(force=True)
