"""Folding a subject, worked out by hand: what stands, what is a conflict, what counts for nothing."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.log.made import A, B, Made
from weldcal.log import chain, store
from weldcal.records.notes import WITHDRAWN
from weldcal.tables import projector
from weldcal.tables.fold import Subject, fold

STRIP = forge.uuid(1)
SEEN = {"at": "2026-06-01T07:00:00-06:00", "by": "Ana Ruiz"}


class Told(Made):
    """Entries about one strip; the first is the strip."""

    def __init__(self) -> None:
        super().__init__()
        self.say("strip", kind="strip", payload={"bond": "not tried", "lap": "selvage", "n": {}})

    def say(self, name: str, device: str = A, **more: Any) -> str:
        """One entry about it; its id."""
        self.add(name, device, len(self.entries) + 1, about=STRIP, **more)
        return str(self.entries[name].id)

    def amend(
        self,
        name: str,
        path: str,
        new: Any,
        *,
        replaces: str = STRIP,
        device: str = A,
        of: str = "",
    ) -> str:
        """A correction, by default of what the strip itself said."""
        payload = {"path": path, "new": new, "replaces": replaces, "why": name, "seen": SEEN}
        payload |= {"of": of} if of else {}
        return self.say(name, device, kind="amend", payload=payload)

    def take(self, name: str, of: str, *, back: bool = False, **more: Any) -> str:
        """A taking back, or a putting back, of one of its entries."""
        return self.amend(name, WITHDRAWN, None if back else True, of=of, **more)

    def folded(self, first: str | None = None) -> Subject:
        """The strip as it stands."""
        subject = fold(list(self.entries.values()), first)
        assert subject is not None
        return subject


def test_a_correction_holds_and_the_entries_stay_as_they_are() -> None:
    """On the way to a deep value too; a value of nothing takes it away."""
    told = Told()
    lap = told.amend("lap", "lap", "granules")
    deep = told.amend("deep", "n.a.b", 2)
    none = told.amend("none", "bond", None)
    subject = told.folded()
    assert subject.payload == {"lap": "granules", "n": {"a": {"b": 2}}}
    assert told.entries["strip"].payload == {"bond": "not tried", "lap": "selvage", "n": {}}
    assert [subject.setter(p) for p in ("lap", "n.a.b", "bond", "note")] == [lap, deep, none, STRIP]
    assert [subject.value(p) for p in ("lap", "n.a.b", "n.a.c", "lap.x")] == [
        "granules",
        2,
        None,
        None,
    ]
    assert subject.corrected
    assert subject.conflicts == set()


def test_a_correction_of_what_cannot_hold_it_is_refused() -> None:
    """A part of a text is no place."""
    told = Told()
    told.amend("odd", "lap.side", 1)
    with pytest.raises(ValueError, match=r"no place 'lap\.side'"):
        told.folded()


def test_corrections_that_cross_are_both_a_conflict_and_the_later_holds() -> None:
    """Both replace what the strip said; a third that knew of one of them does not cross."""
    told = Told()
    one = told.amend("one", "lap", "granules")
    two = told.amend("two", "lap", "cut", device=B)
    told.amend("three", "lap", "scraped", replaces=two)
    told.amend("other", "bond", "good", device=B)
    subject = told.folded()
    assert subject.conflicts == {one, two}
    assert subject.payload["lap"] == "scraped"


def test_a_correction_taken_back_crosses_nothing() -> None:
    """And has no effect, and is still there to be read."""
    told = Told()
    one = told.amend("one", "lap", "granules")
    told.take("take", one)
    told.amend("two", "lap", "cut", device=B)
    subject = told.folded()
    assert subject.conflicts == set()
    assert subject.payload["lap"] == "cut"
    assert set(subject.taken_back) == {one}
    assert [payload["why"] for _entry, payload in subject.amendments] == ["one", "take", "two"]


def test_the_first_pull_holds_and_a_correction_before_it_too() -> None:
    """A second is kept, and changes nothing; what was corrected by then is not overwritten."""
    told = Told()
    told.amend("parted", "parted", "lap")
    pull = told.say(
        "pull", kind="pull", payload={"bond": "good", "parted": "compound", "seen": SEEN}
    )
    told.say("again", kind="pull", payload={"bond": "poor", "bonded_width": "1in", "seen": SEEN})
    subject = told.folded()
    assert (subject.payload["bond"], subject.payload["parted"]) == ("good", "lap")
    assert "bonded_width" not in subject.payload
    assert [payload["bond"] for _entry, payload in subject.filled] == ["good", "poor"]
    assert subject.setter("bond") == pull


def test_a_stages_correction_is_of_its_first() -> None:
    """The second pull says what it said; so does the entry of the first."""
    told = Told()
    told.say("pull", kind="pull", payload={"bond": "good"})
    told.say("again", kind="pull", payload={"bond": "poor"})
    told.amend("amend", "pull:bond", "fair")
    subject = told.folded()
    assert [payload["bond"] for _entry, payload in subject.filled] == ["fair", "poor"]
    assert told.entries["pull"].payload == {"bond": "good"}


def test_what_is_taken_back_counts_for_nothing_until_it_is_put_back() -> None:
    """A pull; put back it holds again, and the strip stands as it was recorded."""
    told = Told()
    pull = told.say("pull", kind="pull", payload={"bond": "good"})
    take = told.take("take", pull)
    subject = told.folded()
    assert subject.payload["bond"] == "not tried"
    assert subject.filled == []
    assert {of: (e.id, by.id) for of, (e, by) in subject.taken_back.items()} == {pull: (pull, take)}
    assert (subject.withdrawn, subject.corrected) == (False, True)
    told.take("back", pull, back=True, replaces=take)
    subject = told.folded()
    assert subject.payload["bond"] == "good"
    assert subject.taken_back == {}
    assert (subject.withdrawn, subject.corrected) == (False, False)


def test_a_strip_taken_back_is_withdrawn_whole() -> None:
    """It can still be read as it was."""
    told = Told()
    take = told.take("take", STRIP)
    subject = told.folded()
    assert (subject.withdrawn, subject.corrected) == (True, True)
    assert subject.taken_back[STRIP][1].id == take
    assert subject.payload["lap"] == "selvage"


@pytest.mark.parametrize(
    ("of", "back", "knows", "conflict"),
    [
        ("strip", True, False, True),  # the one takes it back, the other puts it back
        ("strip", False, False, False),  # both say the same
        ("pull", True, False, False),  # of something else
        ("strip", True, True, False),  # who put it back knew that it was taken
    ],
)
def test_takings_back_that_say_otherwise_are_a_conflict(
    of: str, back: bool, knows: bool, conflict: bool
) -> None:
    """Of the same entry, and made without knowing of each other."""
    told = Told()
    told.say("pull", kind="pull", payload={"bond": "good"})
    one = told.take("one", STRIP)
    two = told.take(
        "two", told.entries[of].id, back=back, device=B, replaces=one if knows else STRIP
    )
    assert told.folded().conflicts == ({one, two} if conflict else set())


def test_who_knew_through_another_knew() -> None:
    """A chain of takings and puttings back, each after the last, is no conflict."""
    told = Told()
    one = told.take("one", STRIP)
    two = told.take("two", STRIP, back=True, replaces=one, device=B)
    told.take("three", STRIP, replaces=two)
    subject = told.folded()
    assert subject.conflicts == set()
    assert subject.withdrawn
    assert len(subject.amendments) == 3


def test_a_copy_of_the_first_entry_is_shown_and_counts_for_nothing() -> None:
    """The first in order stands, or the one known first; both are a conflict by their hashes."""
    told = Told()
    told.add("copy", B, 1, id=STRIP, about=STRIP, kind="strip", payload={"lap": "cut"})
    hashes = {told.entries[name].hash for name in ("strip", "copy")}
    assert told.folded().payload["lap"] == "selvage"
    assert told.folded(told.entries["copy"].hash).payload["lap"] == "cut"
    assert told.folded("no such").payload["lap"] == "selvage"
    assert told.folded().conflicts == hashes


def test_without_its_beginning_there_is_no_subject() -> None:
    """One entry or several, of something begun on another device."""
    told = Told()
    told.say("pull", kind="pull", payload={"bond": "good"})
    told.amend("lap", "lap", "cut")
    _strip, pull, amend = told.entries.values()
    assert fold([pull]) is None
    assert fold([pull, amend]) is None


def test_a_warning_settled_is_kept_and_corrects_nothing() -> None:
    """Beside the strip."""
    told = Told()
    told.say("settle", kind="settle", payload={"of": f"{STRIP}:x", "done": "looked", "seen": SEEN})
    subject = told.folded()
    assert [payload["done"] for _entry, payload in subject.settled] == ["looked"]
    assert (subject.corrected, subject.filled, subject.amendments) == (False, [], [])


def test_a_job_belongs_to_itself() -> None:
    """Anything else to the job that its first entry says."""
    told = Told()
    assert told.folded().job == forge.uuid(900)
    made = Made()
    made.add("job", A, 1, kind="job", job=None)
    made.add("note", A, 2, kind="note", job=None)
    job, note = (fold([entry]) for entry in made.entries.values())
    assert job is not None
    assert note is not None
    assert (job.job, note.job) == (forge.uuid(1), None)


def test_which_of_two_copies_was_known_first_is_noted(tmp_path: Path) -> None:
    """When the other comes, and once: the same entry again, or a new one, says nothing."""
    told = Told()
    told.say("pull", kind="pull", payload={"bond": "good"})
    told.add("copy", B, 1, id=STRIP, about=STRIP, kind="strip", payload={"lap": "cut"})
    told.add("late", B, 2, id=STRIP, about=STRIP, kind="strip", payload={"lap": "late"})
    strip, pull, copy, late = told.entries.values()
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as book:
        projector.note_first(book, [strip, pull])  # nothing is known yet
        assert projector.first_known(book) == {}
        chain.insert(book, [strip, pull])
        projector.note_first(book, [strip, pull])
        assert projector.first_known(book) == {}
        projector.note_first(book, [copy])
        assert projector.first_known(book) == {STRIP: strip.hash}
        chain.insert(book, [copy])
        projector.note_first(book, [late])
        assert projector.first_known(book) == {STRIP: strip.hash}
        subject = projector.subject_of(book, STRIP)
    assert subject is not None
    assert subject.payload["lap"] == "selvage"


def test_what_two_devices_said_at_one_count_is_in_the_order_of_devices(tmp_path: Path) -> None:
    """Of two corrections with one tick the greater device's holds, whichever its place there."""
    made = Made()
    made.add("cause", A, 1, kind="cause", payload={"machine": "blue", "what": "x", "seen": SEEN})
    amend = {"path": "what", "replaces": STRIP, "why": "slip", "seen": SEEN}
    made.add("later", B, 1, kind="amend", about=STRIP, tick=2, payload=amend | {"new": "of B"})
    made.add("first", A, 9, kind="amend", about=STRIP, tick=2, payload=amend | {"new": "of A"})
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as book:
        chain.insert(book, made.entries.values())
        unread: list[tuple[str, str]] = []
        rows = list(projector.derived(book, unread))
    assert unread == []
    (cause,) = (row for table, row in rows if table == "causes")
    assert cause["what"] == "of B"
    assert [row["new"] for table, row in rows if table == "amendments"] == ['"of A"', '"of B"']


def test_what_was_begun_elsewhere_or_by_a_newer_program_makes_no_row(tmp_path: Path) -> None:
    """And is not called unreadable."""
    made = Made()
    made.add("pull", A, 1, kind="pull", about=STRIP, id=forge.uuid(7), payload={"bond": "good"})
    made.add("newer", A, 2, kind="telepathy")
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as book:
        chain.insert(book, made.entries.values())
        unread: list[tuple[str, str]] = []
        assert list(projector.derived(book, unread)) == []
    assert unread == []
