"""Packs of an entry or two, made by the published form alone, taken into an office."""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from weldcal.errors import FileTrouble
from weldcal.office.taking import NoRoom, Office
from weldcal.views.office import PackedJob, PackTaken, Refused, Stranger

A, B, C = "5742a9000001", "5742a9000002", "5742a9000003"


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    """An office of its own, empty."""
    with contextlib.closing(Office(tmp_path / "office")) as office:
        yield office


@pytest.fixture
def arrived(tmp_path: Path) -> Path:
    """The folder where packs arrive."""
    (tmp_path / "in").mkdir()
    return tmp_path / "in"


def entry(device: str, seq: int, number: int, who: str, **more: Any) -> forge.Entry:
    """One entry of a kind that nobody knows; each is the first that its device made, or said so."""
    says = {"device": device, "seq": seq, "tick": seq, "id": forge.uuid(number), "who": who}
    return forge.sealed(forge.envelope(**{**says, "about": forge.uuid(number), **more}))


def job(device: str, number: int, name: str, who: str) -> forge.Entry:
    """The entry with which a job begins."""
    payload = {"name": name, "units": "us", "zone": "America/Denver"}
    return entry(device, 1, number, who, kind="job", payload=payload)


def test_what_came_in_is_told_pack_by_pack(office: Office, arrived: Path) -> None:
    """How many entries were new, by the book they are in: named by its first device."""
    (arrived / "mon").mkdir()
    forge.pack(arrived / "mon/b.weldpack", [job(B, 2, "Mill", "Bo"), entry(A, 1, 3, "Bo")])
    forge.pack(arrived / "c.weldpack", [job(C, 4, "Barn", "Cy")])
    (arrived / "notes.txt").write_text("call Bo")
    heard: list[tuple[str, int, int]] = []
    came = office.take(arrived, newcomers=False, on_progress=lambda *told: heard.append(told))
    assert came.taken == (
        PackTaken("c.weldpack", f"{C}.sqlite", 1, 0, 0, 0),
        PackTaken("mon/b.weldpack", f"{A}.sqlite", 2, 0, 0, 0),
    )
    assert (came.before, came.refused, came.strangers, came.missing) == (0, (), (), ())
    assert (came.others, came.jobs) == (("notes.txt",), 2)
    assert [group.jobs for group in came.groups] == [("Mill",), ("Barn",)]
    assert [told[1:] for told in heard] == [(0, 2), (1, 2)]
    assert office.path_of(f"{A}.sqlite") == arrived.parent / f"office/books/{A}.sqlite"
    again = office.take(arrived, newcomers=False)
    assert (again.before, again.taken, again.groups, again.jobs) == (2, (), (), 2)


def test_entries_that_are_missing_and_places_taken_twice(office: Office, arrived: Path) -> None:
    """The second of a device is not here; two entries take its third place; one is here already."""
    one = job(A, 2, "Mill", "Ana")
    three, other = (entry(A, 3, n, "Ana", prev="1" * 64) for n in (3, 4))
    forge.pack(arrived / "1.weldpack", [one, three])
    forge.pack(arrived / "2.weldpack", [one, other])
    came = office.take(arrived, newcomers=False)
    assert came.taken == (
        PackTaken("1.weldpack", f"{A}.sqlite", 2, 0, 0, 0),
        PackTaken("2.weldpack", f"{A}.sqlite", 1, 1, 0, 1),
    )
    assert came.missing == ((A, 2, 2),)
    assert len(came.groups) == 1


def test_a_stranger_waits_until_somebody_says_so(office: Office, arrived: Path) -> None:
    """By device, job or person it is known; else it is told with what is in it."""
    forge.pack(arrived / "1.weldpack", [job(A, 2, "Mill", "Ana")])
    office.take(arrived, newcomers=False)
    person = {"name": "Eva Lind", "initials": "EL", "role": "operator"}
    barn = job(C, 4, "Barn", "Cy")
    eva = entry(C, 2, 5, "Cy", kind="person", payload=person, prev=barn[1])
    forge.pack(arrived / "2.weldpack", [barn, eva])
    forge.pack(arrived / "3.weldpack", [entry(B, 1, 6, "ANA")])
    came = office.take(arrived, newcomers=False)
    people = ("Cy", "Eva Lind")
    told = Stranger("2.weldpack", (PackedJob(forge.uuid(4), "Barn", people),), people)
    assert (came.strangers, [one.file for one in came.taken]) == ((told,), ["3.weldpack"])
    assert came.groups == ()
    came = office.take(arrived, newcomers=True)
    assert (came.strangers, [one.file for one in came.taken]) == ((), ["2.weldpack"])


def test_an_office_that_took_nothing_is_still_empty(office: Office, arrived: Path) -> None:
    """Of a folder with nothing but a damaged pack; who comes then is no stranger."""
    (arrived / "1.weldpack").write_bytes(b"\x1f\x8bno pack")
    came = office.take(arrived, newcomers=False)
    assert [one.file for one in came.refused] == ["1.weldpack"]
    forge.pack(arrived / "1.weldpack", [job(A, 2, "Mill", "Ana")])
    assert len(office.take(arrived, newcomers=False).taken) == 1
    forge.pack(arrived / "2.weldpack", [job(C, 4, "Barn", "Cy")])
    assert len(office.take(arrived, newcomers=False).strangers) == 1


def test_two_books_become_one_when_a_pack_shows_that_they_belong_together(
    office: Office, arrived: Path
) -> None:
    """All of both, under the first one's name; three at once as well."""
    begun = [
        (device, job(device, 2 + n, f"Roof {n}", f"P{n}")) for n, device in enumerate((A, B, C))
    ]
    for n, (_device, one) in enumerate(begun):
        forge.pack(arrived / f"{n}.weldpack", [one])
    office.take(arrived, newcomers=False)
    assert office.ledger.books() == [f"{device}.sqlite" for device in (A, B, C)]
    both = [entry(at, 2, 9 + n, "P0", prev=one[1]) for n, (at, one) in enumerate(begun)]
    forge.pack(arrived / "9.weldpack", both)
    came = office.take(arrived, newcomers=False)
    assert [(one.book, one.new) for one in came.taken] == [(f"{A}.sqlite", 3)]
    assert office.ledger.books() == [f"{A}.sqlite"]
    assert [path.name for path in office.books.glob("*.sqlite")] == [f"{A}.sqlite"]
    assert set(office.ledger.jobs().values()) == {f"{A}.sqlite"}
    assert came.jobs == 3
    assert not (office.folder / "moving.weldpack").exists()


def test_one_file_by_name(office: Office, arrived: Path) -> None:
    """Whatever it is called; who names a file that is none means it."""
    odd = forge.pack(arrived / "odd name", [job(A, 2, "Mill", "Ana")])
    assert [one.file for one in office.take(odd, newcomers=False).taken] == ["odd name"]
    (arrived / "notes.txt").write_text("call Ana")
    came = office.take(arrived / "notes.txt", newcomers=False)
    assert came.refused == (Refused("notes.txt", "it is no pack"),)
    assert came.others == ()
    with pytest.raises(FileTrouble):
        office.take(arrived / "gone", newcomers=False)
    came = office.take(arrived, newcomers=False)  # by its first bytes, whatever its name
    assert (came.before, came.others) == (1, ("notes.txt",))


def test_a_file_that_cannot_be_read_is_named_with_why(
    office: Office, arrived: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever it is called, and the others come in."""
    forge.pack(arrived / "1.weldpack", [job(A, 2, "Mill", "Ana")])
    forge.pack(arrived / "2", [job(C, 4, "Barn", "Cy")])
    open_it = Path.open

    def refused(self: Path, *given: Any, **named: Any) -> Any:
        if self.name == "2":
            raise PermissionError(errno.EACCES, "no")
        return open_it(self, *given, **named)

    monkeypatch.setattr(Path, "open", refused)
    came = office.take(arrived, newcomers=False)
    assert came.refused == (Refused("2", "you have no right to it"),)
    assert [one.file for one in came.taken] == ["1.weldpack"]


def test_an_office_where_a_file_stands_is_one_sentence(tmp_path: Path) -> None:
    """No folder can be made there."""
    (tmp_path / "text").touch()
    with pytest.raises(NoRoom, match="Packs taken in before stay"):
        Office(tmp_path / "text")
