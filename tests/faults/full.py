"""Disk full or failing at every write of a command in turn: plain message, book intact.

    python -m tests.faults.full [COMMAND ...]

Needs Linux and a C compiler. A shim (`full_disk.c`, by LD_PRELOAD) makes the n-th
write below the book's folder fail, for n = 1, 2, 3 ... until the command succeeds:
with ENOSPC and with EIO, from the n-th on or at the n-th alone.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.keeping import forge

ROOT = Path(__file__).parents[2]
COMMANDS = {
    "conditions": ["conditions", "--ambient", "60F"],
    "strip": [
        "strip",
        "record",
        "--nozzle",
        "932",
        "--speed",
        "5.5",
        "--bleed",
        "1/4,3/16,5/16",
        "--bubbling",
        "none",
    ],
    "photo": ["finding", "A1", "wrinkle", "3-4", "--photo", "{here}/../lap.png"],
    "40 seams": ["seam", "add", "Z1-Z40", "--length", "33ft"],
    "seal": ["seal"],
    "merge": ["merge", "{here}/../other.weldpack"],
    "rebuild": ["verify", "--rebuild"],
    "older book": ["conditions", "--ambient", "60F"],
    "backup": ["backup", "{here}/copy.sqlite"],
    "restore": ["restore", "{here}/../backup.sqlite"],
    "pack": ["pack", "{here}/out.weldpack"],
    "export": ["export", "{here}/tables"],
    "key": ["key", "{here}/key.pem"],
    "new job": [
        "--book",
        "{here}/fresh.sqlite",
        "job",
        "new",
        "J",
        "--units",
        "us",
        "--zone",
        "UTC",
        "--by",
        "A",
    ],
}


def prepare(base: Path) -> None:
    """The inputs, beside the folder whose disk will fail."""
    from weldcal.cli.main import main

    books = ROOT / "fixtures" / "books"
    newest = sorted(books.glob("schema-*.sqlite"))[-1]
    shutil.copy(newest, base / "start.sqlite")
    shutil.copy(books / "schema-1.sqlite", base / "older.sqlite")
    (base / "lap.png").write_bytes(forge.PNG + b"invented" * 5000)
    shutil.copy(newest, base / "second.sqlite")
    for words in (
        ["finding", "A2", "wrinkle", "3-4", "--photo", str(base / "lap.png")],
        ["conditions", "--ambient", "61F"],
        ["pack", str(base / "other.weldpack")],
    ):
        assert main(["--book", str(base / "second.sqlite"), *words]) == 0
    assert main(["--book", str(base / "start.sqlite"), "backup", str(base / "backup.sqlite")]) == 0


def lay(base: Path, name: str) -> tuple[Path, Path]:
    """A fresh folder with the book in it."""
    here = base / "disk"
    shutil.rmtree(here, ignore_errors=True)
    here.mkdir()
    book = here / "book.sqlite"
    shutil.copy(base / ("older.sqlite" if name == "older book" else "start.sqlite"), book)
    return here, book


def attempt(
    shim: ctypes.CDLL, base: Path, name: str, n: int, error: int, once: bool
) -> tuple[int, str, int]:
    """Run one command in a fork with the n-th write failing: exit code, what it said, writes counted."""
    here, book = lay(base, name)
    words = [word.format(here=here) for word in COMMANDS[name]]
    back, front = os.pipe()
    child = os.fork()
    if child == 0:
        from weldcal.cli.main import main

        out, err = io.StringIO(), io.StringIO()
        shim.full_at(str(here).encode(), n, error, int(once))
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(["--book", str(book), *words])
        count = shim.full_count()
        shim.full_at(b"/nowhere", -1, 0, 0)
        os.write(front, f"{code}\0{err.getvalue()}\0{count}".encode())
        os._exit(0)
    os.close(front)
    with os.fdopen(back, "rb") as pipe:
        code, said, count = pipe.read().decode().split("\0")
    os.waitpid(child, 0)
    return int(code), said, int(count)


def judge(base: Path, name: str, code: int, said: str) -> list[str]:
    """What is wrong afterwards, on a disk that is well again."""
    from weldcal.cli.main import main

    wrong = []
    book = base / "disk" / "book.sqlite"
    source = base / ("older.sqlite" if name == "older book" else "start.sqlite")
    before = forge.entries_of(source)
    after = forge.entries_of(book)
    if code == 0:
        return wrong
    if code != 2:
        wrong.append(f"exit {code}")
    if "inside" in said or len(said.splitlines()) != 1:
        wrong.append(f"said {said!r}")
    if after[: len(before)] != before:
        wrong.append("entries lost")
    elif after != before and "may or may not have been recorded" not in said:
        wrong.append("recorded though refused")
    with (
        contextlib.redirect_stdout(io.StringIO()) as out,
        contextlib.redirect_stderr(io.StringIO()) as err,
    ):
        verified = main(["--book", str(book), "verify"])
    if verified:
        wrong.append(f"verify {verified}: {out.getvalue()}{err.getvalue()}")
    left = [
        re.sub(r"[0-9a-f.]{8,}", "*", f.name)
        for f in (base / "disk").rglob("*")
        if f.suffix == ".part" or f.name.endswith(".new")
    ]
    if left:
        wrong.append(f"left behind {left}")
    photos = base / "disk" / "book.sqlite.photos"
    if photos.exists() and list(photos.iterdir()):
        wrong.append("a photo left behind")
    return wrong


def build(base: Path) -> Path:
    """The shim."""
    library = base / "full_disk.so"
    source = Path(__file__).with_name("full_disk.c")
    subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", library, source, "-ldl"], check=True)
    return library


def run(library: str, base: Path, names: list[str]) -> int:
    """Every command, every error, every write."""
    import weldcal.cli.demo
    import weldcal.cli.foreman
    import weldcal.cli.keeping  # noqa: F401  imported here, so that a fork need not

    shim = ctypes.CDLL(library)
    shim.full_at.argtypes = [ctypes.c_char_p, ctypes.c_long, ctypes.c_int, ctypes.c_int]
    shim.full_count.restype = ctypes.c_long
    with contextlib.redirect_stdout(io.StringIO()):
        prepare(base)
    total = bad = 0
    for name in names or COMMANDS:
        kinds: Counter[str] = Counter()
        tried = 0
        for error in (errno.ENOSPC, errno.EIO):
            for once in (False, True):
                n = 1
                while True:
                    code, said, count = attempt(shim, base, name, n, error, once)
                    tried += 1
                    for wrong in judge(base, name, code, said):
                        kinds[
                            f"{wrong[:150]} (write {n}, {errno.errorcode[error]}{', once' if once else ''})"
                        ] += 1
                    if count < n:
                        break
                    n += 1
        total += tried
        bad += sum(kinds.values())
        print(f"{name}: {tried} runs, {sum(kinds.values())} faults", flush=True)
        for wrong, times in kinds.most_common(6):
            print(f"    {times} x {wrong}")
    print(f"{total} runs, {bad} faults")
    return bool(bad)


if __name__ == "__main__":
    if "LD_PRELOAD" in os.environ:
        sys.exit(run(sys.argv[1], Path(sys.argv[2]), sys.argv[3:]))
    with tempfile.TemporaryDirectory(dir="/dev/shm") as folder:
        made = build(Path(folder))
        environment = {
            **os.environ,
            "LD_PRELOAD": str(made),
            "WELDCAL_BOOK": f"{folder}/none.sqlite",
        }
        words = [sys.executable, "-m", "tests.faults.full", str(made), folder, *sys.argv[1:]]
        sys.exit(subprocess.run(words, env=environment, cwd=ROOT, check=False).returncode)
