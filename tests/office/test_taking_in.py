"""Crews' packs taken in, as the office types it."""

from __future__ import annotations

import gzip
import itertools
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from weldcal.book import Book
from weldcal.book.recording.packing import Packing
from weldcal.tables.schema import TABLES

Crew = Callable[..., Path]


def held(office: Path) -> dict[str, list[tuple[Any, ...]]]:
    """All entries and rows of all books of an office, whatever book they are in."""
    found: dict[str, list[tuple[Any, ...]]] = {}
    for path in sorted((office / "books").glob("*.sqlite")):
        with closing(sqlite3.connect(path)) as book:
            for table in ("entries", *TABLES):
                found.setdefault(table, []).extend(book.execute(f'SELECT * FROM "{table}"'))
    return {table: sorted(rows, key=repr) for table, rows in found.items() if rows}


@pytest.fixture
def three(crew: Crew) -> list[Path]:
    """Two crews on a roof each, and one that came to the first one's roof later."""
    first = crew("Mill roof", "Ana Ruiz")
    second = crew("Barn roof", "Cy Dunn")
    later = crew("Mill roof", "Ana Ruiz", days=1)
    return [first, second, later]


def test_one_command_takes_in_all_and_says_how_much(
    weldcal: Any, three: list[Path], tmp_path: Path
) -> None:
    """Two books, for two crews never met; typed again, everything is here already."""
    done = weldcal.ok("office", "take", str(three[0].parent))
    assert "Taken in: 3 packs" in done.out
    assert "The office holds 2 jobs." in " ".join(done.out.split())
    assert len(list(books(weldcal)(tmp_path))) == 2
    again = weldcal.ok("office", "take", str(three[0].parent), "--json").json
    assert (again["before"], again["taken"], again["jobs"]) == (3, [], 2)


def books(weldcal: Any) -> Callable[[Path], list[Path]]:
    return lambda tmp_path: sorted((tmp_path / "office" / "books").glob("*.sqlite"))


@pytest.fixture(autouse=True)
def _office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WELDCAL_OFFICE", str(tmp_path / "office"))


def test_any_order_gives_the_same(weldcal: Any, three: list[Path], tmp_path: Path) -> None:
    """Every order of arrival, one folder after another."""
    seen = []
    for n, order in enumerate(itertools.permutations(three)):
        office = tmp_path / f"office-{n}"
        for m, pack in enumerate(order):
            arrived = tmp_path / f"arrived-{n}-{m}"
            arrived.mkdir()
            shutil.copy(pack, arrived)
            weldcal.ok("office", "take", str(arrived), "--office", str(office), "--newcomers")
        seen.append(held(office))
    assert all(one == seen[0] for one in seen)
    assert len(seen[0]["jobs"]) == 2


def test_books_that_turn_out_to_belong_together_become_one(
    weldcal: Any, three: list[Path], tmp_path: Path
) -> None:
    """A laptop that merged the other crew's pack: its own pack has both jobs."""
    weldcal.ok("office", "take", str(three[0].parent))
    before = held(tmp_path / "office")
    weldcal.book = tmp_path / "Mill roof.sqlite"
    weldcal.ok("merge", str(three[1]))
    both = tmp_path / "both"
    both.mkdir()
    weldcal.ok("pack", str(both / "both.weldpack"))
    weldcal.ok("office", "take", str(both))
    assert len(books(weldcal)(tmp_path)) == 1
    assert held(tmp_path / "office") == before
    weldcal.book = books(weldcal)(tmp_path)[0]
    weldcal.ok("verify")


def test_a_damaged_pack_is_named_and_the_rest_taken_in(weldcal: Any, three: list[Path]) -> None:
    """Cut, altered, no pack at all; a file half copied is not looked at."""
    folder = three[0].parent
    whole = three[0].read_bytes()
    (folder / "cut.weldpack").write_bytes(whole[: len(whole) // 2])
    (folder / "altered.weldpack").write_bytes(whole[:200] + bytes([whole[200] ^ 1]) + whole[201:])
    (folder / "notes.txt").write_text("call Ana")
    (folder / "coming.weldpack.77.part").write_bytes(whole[:50])
    done = weldcal("office", "take", str(folder))
    assert (done.code, done.err) == (1, "")
    said = " ".join(done.out.split())
    assert "NOT TAKEN IN: cut.weldpack: it is cut short." in said
    assert "NOT TAKEN IN: altered.weldpack: " in said
    assert "Left alone, no packs: notes.txt." in said
    assert "coming" not in said
    assert "Taken in: 3 packs" in said


REFUSALS = {
    "line altered": (9, lambda line: line[:-30], "line 10 was altered"),
    "entry altered": (9, lambda line: line.replace(b"Ana", b"Eva"), "entry 9 ("),
    "of a newer version": (
        0,
        lambda line: line.replace(b'"weldcal_pack":1', b'"weldcal_pack":2'),
        "a newer weldcal made it: bring this one up to date",
    ),
    "some other text": (0, lambda _line: b"call Ana", "it is no pack"),
}


@pytest.mark.parametrize("how", REFUSALS)
def test_a_refusal_is_said_in_the_crews_words(weldcal: Any, three: list[Path], how: str) -> None:
    """By `merge` and by the office alike: one line, no word of the program's insides."""
    number, change, why = REFUSALS[how]
    lines = gzip.decompress(three[0].read_bytes()).split(b"\n")
    assert change(lines[number]) != lines[number]
    lines[number] = change(lines[number])
    three[0].write_bytes(gzip.compress(b"\n".join(lines)))
    for command in ("merge", "office take"):
        done = weldcal(*command.split(), str(three[0]))
        said = " ".join((done.out + done.err).split())
        assert why in said
        for inner in ("JSON", "byte", "Expected", "gzip", "stream", "hash"):
            assert inner not in said
        if command == "merge":
            assert (done.code, len(done.err.splitlines())) == (2, 1)


def test_a_strangers_pack_waits_until_somebody_says_so(
    weldcal: Any, crew: Crew, three: list[Path], tmp_path: Path
) -> None:
    """Nothing in it is known; a pack that only it links waits with it; both come in with the word."""
    weldcal.ok("office", "take", str(three[0].parent))
    crew("Dock roof", "Eva Lind")
    done = weldcal("office", "take", str(three[0].parent))
    assert done.code == 1
    said = " ".join(done.out.split())
    assert "Dock roof-0.weldpack: a stranger's." in said
    assert "(Dock roof; Eva Lind)" in said
    assert "--newcomers" in said
    weldcal.ok("office", "take", str(three[0].parent), "--newcomers")
    assert len(books(weldcal)(tmp_path)) == 3


def test_a_pack_known_through_another_one_is_no_strangers(
    weldcal: Any, crew: Crew, three: list[Path]
) -> None:
    """Ana is known; Eva is not, but the last pack of the folder has both: whatever the order."""
    weldcal.ok("office", "take", str(three[0].parent))
    crew("Dock roof", "Eva Lind")  # by name before the one that links it
    weldcal.book = three[0].parent.parent / "Dock roof.sqlite"
    weldcal.ok("merge", str(three[2]))
    weldcal.ok("pack", str(three[0].parent / "zz.weldpack"))
    done = weldcal.ok("office", "take", str(three[0].parent), "--json").json
    assert (done["strangers"], done["jobs"]) == ([], 3)


def test_two_firms_in_one_folder_are_told(weldcal: Any, three: list[Path]) -> None:
    """Into an empty office all come; that they share nobody is said, with their people."""
    said = " ".join(weldcal.ok("office", "take", str(three[0].parent)).out.split())
    assert "fall into 2 groups that share no job, device or person" in said
    assert "- Mill roof; Ana Ruiz" in said
    assert "- Barn roof; Cy Dunn" in said


def test_killed_at_any_moment_and_typed_again_gives_the_same(
    weldcal: Any, three: list[Path], tmp_path: Path
) -> None:
    """kill -9, sooner or later; then the same command: nothing half, nothing twice."""
    folder = three[0].parent
    weldcal.ok("office", "take", str(folder))
    whole = held(tmp_path / "office")
    code = "import sys; from weldcal.cli.main import main; sys.exit(main(sys.argv[1:]))"
    for n, wait in enumerate((0.3, 0.6, 0.9, 1.2)):
        office = tmp_path / f"killed-{n}"
        words = [sys.executable, "-c", code, "office", "take", str(folder), "--office", str(office)]
        child = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(wait)
        child.send_signal(signal.SIGKILL)
        child.wait()
        weldcal.ok("office", "take", str(folder), "--office", str(office))
        assert held(office) == whole


@pytest.mark.parametrize("step", ["merged, not noted", "made, not merged", "moved, not dropped"])
def test_broken_off_between_two_steps_is_put_right(
    weldcal: Any, three: list[Path], tmp_path: Path, step: str
) -> None:
    """The list and the books are two files: each moment between them, made by hand."""
    folder, office = three[0].parent, tmp_path / "office"
    weldcal.ok("office", "take", str(folder))
    whole = held(office)
    if step == "merged, not noted":
        (office / "office.sqlite").unlink()
    elif step == "made, not merged":
        Book(office / "books" / "000000000000.sqlite").recording.transactions.make()
    else:
        copy = office / "books" / "000000000000.sqlite"
        shutil.copy(books(weldcal)(tmp_path)[0], copy)
    weldcal.ok("office", "take", str(folder))
    assert held(office) == whole


def test_a_full_disk_is_one_plain_line(
    weldcal: Any, three: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What came in before stays; the rest follows when there is room."""
    from weldcal.errors import BookUnwritable

    folder, merge, times = three[0].parent, Packing.merge, []

    def full(self: Any, *given: Any, **named: Any) -> Any:
        times.append(1)
        if len(times) == 2:
            raise BookUnwritable(file=folder, why="the disk is full")
        return merge(self, *given, **named)

    monkeypatch.setattr(Packing, "merge", full)
    done = weldcal("office", "take", str(folder))
    (line,) = done.err.splitlines()
    assert done.code == 2
    assert "(the disk is full). Packs taken in before stay." in line
    monkeypatch.undo()
    monkeypatch.setenv("WELDCAL_OFFICE", str(tmp_path / "office"))
    assert len(weldcal.ok("office", "take", str(folder), "--json").json["taken"]) == 2


def test_a_folder_that_is_not_there_is_one_plain_line(weldcal: Any, tmp_path: Path) -> None:
    """Nothing is made for it."""
    done = weldcal("office", "take", str(tmp_path / "nowhere"))
    assert done.code == 2
    assert "there is no such" in done.err


def test_a_second_one_at_the_same_time_waits_its_turn(
    weldcal: Any, three: list[Path], tmp_path: Path
) -> None:
    """Told in one line; the first one's end, however it ends, gives the office back."""
    from weldcal.office.taking import Office

    with closing(Office(tmp_path / "office")):
        done = weldcal("office", "take", str(three[0].parent))
        assert done.code == 2
        assert "another program holds it" in done.err
    weldcal.ok("office", "take", str(three[0].parent))


def test_a_folder_without_packs_is_told(weldcal: Any, tmp_path: Path) -> None:
    """Empty, or with other people's files only: nothing failed, and the way on is named."""
    folder = tmp_path / "arrived"
    folder.mkdir()
    done = weldcal.ok("office", "take", str(folder))
    assert "There is no pack in this folder. A crew makes one: weldcal pack FILE" in done.out
    (folder / "notes.txt").write_text("call Ana")
    done = weldcal.ok("office", "take", str(folder))
    assert "Left alone, no packs: notes.txt." in done.out
    assert "There is no pack in this folder." in done.out
    alone = weldcal("office", "take", str(folder / "notes.txt"))
    assert alone.code == 1  # who names a file means it
    assert "NOT TAKEN IN: notes.txt: it is no pack." in alone.out
