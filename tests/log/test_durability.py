"""What was acknowledged is on disk: after a kill, on a full disk, with two hands at once."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest

from tests.full_disk import no_room

# Records strips one after another, saying each name once it is recorded.
RECORDER = """
import sys
from fractions import Fraction
from weldcal.book import Book
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Setting
from weldcal.records.strip import Strip
book = Book(sys.argv[1], by="Ana Ruiz")
setting = Setting(
    machine="blue", sheet="base", lap="selvage", nozzle=Quantity("932", Fraction(932), "F"),
    speed=Quantity("5.5", Fraction(11, 2), "ft/min"),
)
for _ in range(int(sys.argv[2])):
    seen = book.reader.seen(None, None)
    strip = Strip(name="", seen=seen, setting=setting, conditions=Conditions(), bubbling="none")
    print(book.recording.strips.record_strip(strip).name, flush=True)
"""


def recorder(job: Any, times: int) -> subprocess.Popen[str]:
    """Start recording in a process of its own."""
    words = [sys.executable, "-c", RECORDER, str(job.book), str(times)]
    return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


@pytest.mark.parametrize("heard", [1, 7, 20])
def test_a_kill_in_the_middle_loses_nothing_acknowledged(job: Any, heard: int) -> None:
    """kill -9 after some were acknowledged: those are there, the chain and the tables are whole."""
    process = recorder(job, 100_000)
    assert process.stdout is not None
    names = [process.stdout.readline().strip() for _ in range(heard)]
    process.kill()
    names += process.stdout.read().split()  # acknowledged, and not read before the kill
    assert process.wait() == -signal.SIGKILL
    kept = [row["name"] for row in job.query("SELECT name FROM strips ORDER BY tick")]
    assert kept[: len(names)] == names
    assert len(kept) <= len(names) + 1  # at most one was on disk and not yet said
    job.ok("verify")


def test_two_hands_at_once_give_no_name_twice(job: Any) -> None:
    """Short names and sequence are given inside the transaction."""
    both = [recorder(job, 8) for _ in range(2)]
    outs = [process.communicate(timeout=60) for process in both]
    names = [name for out, _err in outs for name in out.split()]
    assert sorted(names) == sorted(f"S{n}" for n in range(1, 17))
    job.ok("verify")


def test_a_full_disk_refuses_and_records_nothing(
    job: Any, fresh: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    """A file that cannot grow (RLIMIT_FSIZE stands in for a full disk): one line, exit code 2."""
    before = job.entries()

    done = fresh(
        "strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,1/4 --bubbling none",
        preexec_fn=no_room(16),
    )
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "recorded." not in done.stdout
    assert job.entries() == before
    job.ok("verify")


def test_a_copied_book_takes_a_device_of_its_own(job: Any) -> None:
    """Two copies that both go on never make one device's entry twice."""
    copy = job.book.with_name("copy.sqlite")
    job.ok("conditions --ambient 61F")
    shutil.copyfile(job.book, copy)
    job.ok("conditions --ambient 62F")
    mine = job.entries()
    job.book = copy
    job.ok("conditions --ambient 63F")
    theirs = job.entries()
    assert mine[-1]["device"] != theirs[-1]["device"]
    assert theirs[-1]["seq"] == 1
    job.ok("verify")
