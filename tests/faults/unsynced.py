"""Power cut: what was written and not synced is dropped, reordered or torn, and every acknowledged entry must be there.

    python -m tests.faults.unsynced [POINTS]

Needs Linux and strace. Each scenario runs under strace, which records every write,
sync, truncation, creation, rename and removal below its folder, in order, and the
moments at which the program said "done". Then the folder is rebuilt as a disk may
hold it at a cut just after any of those calls:

- dropped: only what was synced (fsync, fdatasync of the file; for names, fsync of the folder);
- some: of the unsynced writes a random part, in any order, one perhaps torn at 512 bytes.

Names are judged twice. `strict` is what POSIX promises: a new name, a rename or a
removal is on disk only when its folder was synced. `journal` is what ext4 and APFS
do: syncing a file keeps its name, and later syncs keep earlier renames.
`no sync` is the control: every sync ignored, so that faults must show.
It cannot show a drive that lies about its cache (on macOS the program asks for
F_FULLFSYNC), nor bits that rot.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from tests.keeping import forge
from weldcal.book import Book
from weldcal.errors import WeldcalError

ROOT = Path(__file__).parents[2]
NEWEST = sorted((ROOT / "fixtures" / "books").glob("schema-*.sqlite"))[-1]
RUNNER = """
import json, os, sys
from weldcal.cli.main import main
sys.stdout = open(os.devnull, "w")
for words in json.load(open(sys.argv[1])):
    if main(words) == 0:
        os.write(2, b"DONE\\n")
    else:
        os.write(2, b"REFUSED\\n")
"""
CALLS = "openat,creat,write,pwrite64,ftruncate,fsync,fdatasync,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat"


@dataclass
class Inode:
    """A file's bytes: what is synced, and the writes since."""

    synced: bytes = b""
    pending: list[tuple[int, bytes | int]] = field(
        default_factory=list
    )  # (offset, bytes) or (-1, new length)

    def content(self, writes: list[tuple[int, bytes | int]]) -> bytes:
        """The synced bytes with these writes made."""
        data = bytearray(self.synced)
        for at, part in writes:
            if isinstance(part, int):
                data[:] = data[:part].ljust(part, b"\0")
            else:
                data.extend(b"\0" * (at - len(data)))
                data[at : at + len(part)] = part
        return bytes(data)


class Disk:
    """Names and files below a folder, as memory has them and as the disk may."""

    def __init__(self, start: dict[str, bytes], names: str) -> None:
        self.names = names
        self.live = {name: Inode(data) for name, data in start.items()}
        self.named = dict(self.live)  # names on disk

    def open(self, name: str) -> Inode:
        return self.live.setdefault(name, Inode())

    def sync(self, name: str, folder: bool) -> None:
        """fsync of a file or of a folder."""
        if self.names == "no sync":
            return
        if folder:
            inside = lambda n: str(Path(n).parent) == name  # noqa: E731
            self.named = {n: i for n, i in self.named.items() if not inside(n)} | {
                n: i for n, i in self.live.items() if inside(n)
            }
            return
        inode = self.live.get(name)
        if inode is not None:
            inode.synced, inode.pending = inode.content(inode.pending), []
        if self.names == "journal":
            self.named = dict(self.live)  # the journal commits all names before it

    def crash(self, chance: random.Random, some: bool) -> dict[str, bytes]:
        """What the disk holds after a cut."""
        files = {}
        for name, inode in self.named.items():
            kept: list[tuple[int, bytes | int]] = []
            if some and inode.pending:
                kept = [w for w in inode.pending if chance.random() < 0.5]
                chance.shuffle(kept)
                if kept and isinstance(kept[-1][1], bytes) and len(kept[-1][1]) > 512:
                    at, part = kept[-1]
                    kept[-1] = (at, part[: 512 * chance.randrange(len(part) // 512)])
            files[name] = inode.content(kept)
        return files


def traced(folder: Path, commands: list[list[str]]) -> list[tuple[str, ...]]:
    """Run commands under strace: the calls below the folder, and ("done",) where one was acknowledged."""
    script, log = folder.with_name("script"), folder.with_name("log")
    script.write_text(json.dumps(commands))
    words = [
        "strace",
        "-f",
        "-y",
        "-xx",
        "-s",
        "10000000",
        "-o",
        str(log),
        "-e",
        f"trace={CALLS}",
        sys.executable,
        "-c",
        RUNNER,
        str(script),
    ]
    ran = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True)
    assert "REFUSED" not in ran.stderr, ran.stderr
    return [call for line in log.open() for call in _call(line, str(folder))]


_HEX = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(\.\.\.)?')
_LINE = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+)")


def _text(quoted: str) -> bytes:
    return bytes.fromhex(quoted.replace("\\x", ""))


def _paths(arguments: str, folder: str) -> list[str]:
    """Quoted paths and those of descriptors, in order, where they lie below the folder."""
    found = []
    for match in re.finditer(
        r'"((?:\\x[0-9a-f]{2})+)"|\d+<((?:\\x[0-9a-f]{2})+|[^>]*)>', arguments
    ):
        raw = match[1] or match[2]
        path = _text(raw).decode(errors="replace") if raw.startswith("\\x") else raw
        if path == folder or path.startswith(folder + "/"):
            found.append(path)
    return found


def _call(line: str, folder: str) -> list[tuple[str, ...]]:
    match = _LINE.match(line)
    if match is None or int(match[3]) < 0:
        return []
    name, arguments, result = match[1], match[2], int(match[3])
    if name == "write" and arguments.startswith("2<"):
        return [("done",)] if b"DONE" in _text(_HEX.search(arguments)[1]) else []
    paths = _paths(arguments.split('"')[0] if name in ("write", "pwrite64") else arguments, folder)
    if not paths:
        return []
    if name in ("write", "pwrite64"):
        data = _text(_HEX.search(arguments)[1])[:result]
        offset = int(arguments.rsplit(",", 1)[1]) if name == "pwrite64" else -1
        return [("write", paths[0], str(offset), data.hex())]
    if name == "ftruncate":
        return [("truncate", paths[0], arguments.rsplit(",", 1)[1].strip())]
    if name in ("openat", "creat"):
        return [
            (
                "open",
                paths[-1],
                "trunc" if "O_TRUNC" in arguments else "",
                "creat" if "O_CREAT" in arguments else "",
            )
        ]
    return [(name, *paths)]


def apply(disk: Disk, call: tuple[str, ...], ends: dict[str, int]) -> None:
    """One call done to the disk; `ends` is where a plain write goes."""
    what = call[0]
    if what == "open":
        if call[3] and call[1] not in disk.live:
            disk.open(call[1])
            ends[call[1]] = 0
        if call[2] and call[1] in disk.live:
            disk.live[call[1]].pending.append((-1, 0))
            ends[call[1]] = 0
    elif what == "write" and call[1] in disk.live:
        data = bytes.fromhex(call[3])
        at = int(call[2]) if int(call[2]) >= 0 else ends.get(call[1], 0)
        disk.live[call[1]].pending.append((at, data))
        ends[call[1]] = at + len(data)
    elif what == "truncate" and call[1] in disk.live:
        disk.live[call[1]].pending.append((-1, int(call[2])))
    elif what in ("fsync", "fdatasync"):
        disk.sync(call[1], folder=call[1] not in disk.live)
    elif what.startswith("rename") and len(call) == 3 and call[1] in disk.live:
        disk.live[call[2]] = disk.live.pop(call[1])
    elif what.startswith("unlink"):
        disk.live.pop(call[1], None)


def judge(
    files: dict[str, bytes], folder: Path, place: Path, book: Path, expected: int
) -> str | None:
    """Lay the files down, open the book, and see that what was acknowledged is there and whole."""
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    for name, data in files.items():
        if not name.endswith("-shm"):  # shared memory: not on disk
            path = place / Path(name).relative_to(folder)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
    there = place / book.relative_to(folder)
    if not there.exists():
        return "no book" if expected else None
    try:
        with contextlib.closing(sqlite3.connect(there)) as connection:
            if connection.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
                return "integrity"
            count = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
        if count < expected:
            return f"{expected - count} acknowledged entries lost"
        opened = Book(there)
        faults = opened.sealing.verify()[1] + opened.keeping.photo_faults()
        opened.close()
    except (sqlite3.Error, WeldcalError) as error:
        return f"{error}"[:100] if expected else None
    return f"{faults[0].what}: {faults[0].found}"[:100] if faults else None


def scenario(name: str, base: Path, points: int) -> int:
    """Trace one scenario, cut it at many points, count faults."""
    folder = base / "disk"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    book = folder / "book.sqlite"
    commands = [["--book", str(book), *words] for words in SCENARIOS[name](base)]
    if name != "a new book":
        shutil.copy(NEWEST, book)
    start = {str(file): file.read_bytes() for file in folder.rglob("*") if file.is_file()}
    first = len(forge.entries_of(book)) if book.exists() else 0
    calls = traced(folder, commands)
    per_command = _counts(book, len(commands), first)
    faults = 0
    for names in ("journal", "strict", "no sync"):
        chance, kinds, tried = random.Random(3), Counter[str](), 0
        chosen = set(chance.sample(range(len(calls)), min(points, len(calls))))
        chosen |= {n for n, call in enumerate(calls) if call[0] in ("done", "fsync", "fdatasync")}
        if len(chosen) > 2 * points:
            chosen = set(chance.sample(sorted(chosen), 2 * points))
        disk, ends, done = Disk(start, names), {}, 0
        for number, call in enumerate(calls):
            done += call == ("done",)
            apply(disk, call, ends)
            if number in chosen:
                for some in (False, True):
                    tried += 1
                    wrong = judge(
                        disk.crash(chance, some), folder, base / "crashed", book, per_command[done]
                    )
                    if wrong:
                        kinds[wrong] += 1
        faults += sum(kinds.values()) if names == "journal" else 0
        print(
            f"{name}, {names}: {len(calls)} calls, {done} acknowledged, {tried} cuts, {sum(kinds.values())} faults {dict(kinds.most_common(3)) or ''}",
            flush=True,
        )
    return faults


def _counts(book: Path, commands: int, first: int) -> list[int]:
    """How many entries there must be after each command was acknowledged."""
    each, rest = divmod(len(forge.entries_of(book)) - first, commands)
    assert rest == 0
    return [first + each * n for n in range(commands + 1)]


def _records(base: Path) -> list[list[str]]:
    return [["conditions", "--ambient", f"{n}F"] for n in range(40, 100)]


def _photos(base: Path) -> list[list[str]]:
    found = []
    for n in range(6):
        photo = base / f"{n}.png"
        photo.write_bytes(forge.PNG + bytes([n]) * 9000)
        found.append(["finding", "A1", "wrinkle", f"{n}-{n + 1}", "--photo", str(photo)])
    return found


def _merge(base: Path) -> list[list[str]]:
    from weldcal.cli.main import main

    other = base / "other.sqlite"
    shutil.copy(NEWEST, other)
    for words in [*_records(base)[:20], *_photos(base)[:2], ["pack", str(base / "other.weldpack")]]:
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["--book", str(other), *words]) == 0
    return [["merge", str(base / "other.weldpack")]]


def _new(base: Path) -> list[list[str]]:
    return [["job", "new", "School", "--units", "us", "--zone", "UTC", "--by", "Ana Ruiz"]]


def _restore(base: Path) -> list[list[str]]:
    from weldcal.cli.main import main

    copy = base / "copy.sqlite"
    shutil.copy(NEWEST, base / "from.sqlite")
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["--book", str(base / "from.sqlite"), "backup", str(copy)]) == 0
    return [["restore", str(copy)]]


def _rebuild(base: Path) -> list[list[str]]:
    return [["verify", "--rebuild"]]


SCENARIOS = {
    "recording": _records,
    "photos": _photos,
    "merging": _merge,
    "a new book": _new,
    "restoring": _restore,
    "rebuilding": _rebuild,
}


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    total = 0
    for one in SCENARIOS:
        with tempfile.TemporaryDirectory() as where:
            total += scenario(one, Path(where), number)
    print(f"{total} faults where names are journalled")
    sys.exit(bool(total))
