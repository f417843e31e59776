"""Programs run in processes of their own: recorders that say what was acknowledged, and runs with fewer rights."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
# Records conditions one after another; says each number once it is acknowledged.
RECORDER = """
import os, sys
from fractions import Fraction
from weldcal.book import Book
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions
book = Book(sys.argv[1], by="Ana Ruiz")
for n in range(int(sys.argv[2]), int(sys.argv[3])):
    book.recording.conditions.record(Conditions(ambient=Quantity(str(n), Fraction(n % 40), "C")))
    os.write(1, f"{n}\\n".encode())
"""
PROGRAM = "from weldcal.cli.main import run; run()"


def recorder(book: Path, first: int, last: int, **options: Any) -> subprocess.Popen[bytes]:
    """Record `first` to `last` - 1; each number is on its output when it was acknowledged."""
    words = [sys.executable, "-c", RECORDER, str(book), str(first), str(last)]
    piped = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **options}
    return subprocess.Popen(words, cwd=ROOT, **piped)


def program(book: Path, *words: str, **options: Any) -> subprocess.CompletedProcess[str]:
    """One command in an interpreter of its own."""
    line = [sys.executable, "-c", PROGRAM, "--book", str(book), *words]
    return subprocess.run(
        line, capture_output=True, text=True, timeout=120, check=False, cwd=ROOT, **options
    )


def started(book: Path, *words: str) -> subprocess.Popen[str]:
    """One command begun."""
    line = [sys.executable, "-c", PROGRAM, "--book", str(book), *words]
    return subprocess.Popen(
        line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    )


def as_anybody() -> None:
    """For `preexec_fn`: file modes hold for root too (capabilities(7): CAP_DAC_OVERRIDE dropped at exec)."""
    if os.geteuid() == 0 and sys.platform == "linux":
        ctypes.CDLL(None).prctl(24, 1, 0, 0, 0)  # PR_CAPBSET_DROP, CAP_DAC_OVERRIDE
