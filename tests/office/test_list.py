"""The office's list by itself: what a book holds, who is known, which books share people."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.log.made import A, B, Made
from weldcal.errors import BookTrouble, NotWritten
from weldcal.office import taking
from weldcal.office.ledger import Holds, Ledger, folded
from weldcal.views.office import PeopleGroup

J1, J2, J3 = "j1", "j2", "j3"


def holds(devices: str = "", jobs: dict[str, str] | None = None, people: str = "") -> Holds:
    """Of devices, jobs and people, each said in one line."""
    return Holds(frozenset(devices.split()), jobs or {}, folded(people.split(",")))


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Ledger]:
    """Two books that share Ana, and one of Cy."""
    with contextlib.closing(Ledger(tmp_path / "office")) as ledger:
        ledger.note("b.sqlite", holds("d2", {J2: "Mill"}, "Ana,Bo"), ("00", "mon/b.weldpack"))
        ledger.note("a.sqlite", holds("d1", {J1: "School"}, "ANA"), ("11", "a.weldpack"))
        ledger.note("c.sqlite", holds("d3 d4", {J3: "Barn"}, "Cy"))
        yield ledger


def test_an_empty_list_knows_nobody(tmp_path: Path) -> None:
    """Until a first folder was taken in whole; after that it says so for good."""
    for begun in (False, True):
        with contextlib.closing(Ledger(tmp_path / "deep/office")) as ledger:
            assert ledger.begun() is begun
            assert ledger.books() == []
            assert ledger.jobs() == {}
            assert ledger.groups() == ()
            assert ledger.with_any(holds("d1", {J1: ""}, "Ana")) == []
            assert ledger.knows(holds("d1", {J1: ""}, "Ana")) is False
            ledger.begin()


def test_it_says_what_it_was_told(office: Ledger) -> None:
    """Packs by their hash, books in order, the book of each job."""
    assert [office.has(sha256) for sha256 in ("00", "11", "22", "")] == [True, True, False, False]
    assert office.books() == ["a.sqlite", "b.sqlite", "c.sqlite"]
    assert office.jobs() == {J1: "a.sqlite", J2: "b.sqlite", J3: "c.sqlite"}


@pytest.mark.parametrize(
    ("asked", "books", "known"),
    [
        (holds("d4"), ["c.sqlite"], True),
        (holds("x d2", {J3: ""}), ["b.sqlite", "c.sqlite"], True),
        (holds("", {J1: "another name"}), ["a.sqlite"], True),
        (holds("x", {"x": "School"}, "x"), [], False),
        (holds("x", {}, "x,cy"), [], True),
        (holds("j1", {"d1": ""}, "d1"), [], False),
    ],
)
def test_who_is_known(office: Ledger, asked: Holds, books: list[str], known: bool) -> None:
    """By a device or a job there is a book for it; by a person only, it is known."""
    assert office.with_any(asked) == books
    assert office.knows(asked) is known


def test_books_that_share_people_are_a_group(office: Ledger) -> None:
    """Ana in either spelling; the largest group first, then by the books' names."""
    shared, alone = office.groups()
    assert shared.books == ("a.sqlite", "b.sqlite")
    assert shared.jobs == ("Mill", "School")
    assert {name.casefold() for name in shared.people} == {"ana", "bo"}
    assert alone == PeopleGroup(("c.sqlite",), ("Barn",), ("Cy",))
    office.note("d.sqlite", holds("d5", {}, "Dee"))
    assert [group.books for group in office.groups()[1:]] == [("c.sqlite",), ("d.sqlite",)]
    office.note("d.sqlite", holds("", {}, "cy,bo"))  # through whom all are one
    (all_of_them,) = office.groups()
    assert all_of_them.books == ("a.sqlite", "b.sqlite", "c.sqlite", "d.sqlite")


def test_what_one_book_held_another_holds(office: Ledger) -> None:
    """Its jobs, devices, people and packs; the book itself is known no more."""
    office.move("b.sqlite", "c.sqlite")
    assert office.books() == ["a.sqlite", "c.sqlite"]
    assert office.jobs() == {J1: "a.sqlite", J2: "c.sqlite", J3: "c.sqlite"}
    assert office.with_any(holds("d2")) == ["c.sqlite"]
    assert office.has("00")
    with contextlib.closing(sqlite3.connect(office.path)) as connection:
        packs = dict(connection.execute("SELECT file, book FROM packs").fetchall())
    assert packs == {"mon/b.weldpack": "c.sqlite", "a.weldpack": "a.sqlite"}


def test_one_at_a_time(office: Ledger, tmp_path: Path) -> None:
    """A second one is refused at once; after the first it may."""
    with pytest.raises(BookTrouble):
        Ledger(tmp_path / "office")
    office.close()
    Ledger(tmp_path / "office").close()


def test_where_no_folder_can_be_made_it_says_so(tmp_path: Path) -> None:
    """A file stands in its place."""
    (tmp_path / "text").touch()
    with pytest.raises(NotWritten):
        Ledger(tmp_path / "text/office")


def test_what_is_noted_is_noted_whole(office: Ledger) -> None:
    """A pack that cannot be noted leaves nothing of what it holds, and the list goes on."""
    with pytest.raises(BookTrouble):
        office.note("e.sqlite", holds("d9", {}, "Eva"), ("33", object()))  # type: ignore[arg-type]
    assert not office.knows(holds("d9", {}, "Eva"))
    office.note("e.sqlite", holds("d9"))
    assert office.with_any(holds("d9")) == ["e.sqlite"]


def test_what_entries_are_of() -> None:
    """The job's own name, whichever entry comes first; who typed and who is listed, once each."""
    made = Made()
    made.add("strip", B, 1, who="Bo", job="01")
    made.add("job", A, 1, kind="job", job=None, about="01", payload={"name": "School"})
    made.add("person", A, 2, kind="person", job="01", payload={"name": "cy"}, who="")
    made.add("other", A, 3, job="02", who="Ana Ruiz")
    found = taking.holds_of(list(made.entries.values()))
    assert found.devices == {A, B}
    assert found.jobs == {"01": "School", "02": ""}
    assert found.people == {"bo": "Bo", "cy": "cy", "ana ruiz": "Ana Ruiz"}


def test_what_lies_in_a_folder(tmp_path: Path) -> None:
    """In order, folders in it too; not what is hidden, half written, or the office's own."""
    for name in ("b.weldpack", "a/c.txt", ".hidden", "a/half.part", "office/books/x", "part"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    found = taking._files(tmp_path, tmp_path / "office")
    assert [str(path.relative_to(tmp_path)) for path in found] == ["a/c.txt", "b.weldpack", "part"]


def test_a_book_is_dropped_with_what_lies_beside_it(tmp_path: Path) -> None:
    """Its log, its device and its photos; not another book whose name begins alike."""
    (tmp_path / "b.sqlite.photos").mkdir()
    for name in ("b.sqlite", "b.sqlite-wal", "b.sqlite.device", "b.sqlite.photos/x", "bb.sqlite"):
        (tmp_path / name).touch()
    taking._drop(tmp_path / "b.sqlite")
    assert [path.name for path in tmp_path.iterdir()] == ["bb.sqlite"]
    taking._drop(tmp_path / "b.sqlite")  # gone already
