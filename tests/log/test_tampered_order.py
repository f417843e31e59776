"""What a changed column does to the order of the check: one fault, and no false ones after it."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest

from tests.keeping import forge
from tests.log.made import A, B, Made
from weldcal.log import chain, knowledge, store, verifying


def _chain(made: Made, device: str, count: int) -> None:
    after = ""
    for seq in range(1, count + 1):
        made.add(f"{device} {seq}", device, seq, after)
        after = f"{device} {seq}"


@pytest.mark.parametrize("count", ["x", b"\x02", 2.5])
def test_one_count_that_is_none_leaves_the_others_in_order(tmp_path: Path, count: object) -> None:
    """Twelve entries, the second's place no number: a gap where it was, and itself out of place."""
    made = Made()
    _chain(made, A, 12)
    _chain(made, B, 2)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        with forge.unguarded(log):
            log.execute("UPDATE entries SET seq = ? WHERE device = ? AND seq = 2", (count, A))
        faults = [(f.entry, f.what, f.expected, f.found) for f in verifying.verify_chain(log)]
    assert faults == [
        (forge.uuid(2), "column seq", "2", str(count)),
        (forge.uuid(3), "gap", f"entry after 1 of device {A}", "entry 3"),
        (forge.uuid(2), "gap", f"entry after 12 of device {A}", f"entry {count}"),
    ]


def test_two_counts_that_are_none_are_told_each(tmp_path: Path) -> None:
    """The fourth and the fifth of five, their places no numbers: nothing can follow the one."""
    made = Made()
    _chain(made, A, 5)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        with forge.unguarded(log):
            log.execute("UPDATE entries SET seq = 'no. ' || seq WHERE seq > 3")
        faults = [(f.expected, f.found) for f in verifying.verify_chain(log) if f.what == "gap"]
    assert sorted(found for _expected, found in faults) == ["entry no. 4", "entry no. 5"]
    assert faults[0][0] == f"entry after 3 of device {A}"


@pytest.mark.parametrize("changed", [A, b"\x01"])
def test_a_device_that_is_no_text_is_told_and_the_other_is_whole(
    tmp_path: Path, changed: object
) -> None:
    """The column of a whole chain: each of its entries says another device; nothing else is wrong."""
    made = Made()
    _chain(made, B, 3)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        with forge.unguarded(log):
            log.execute("UPDATE entries SET device = ?", (changed,))
        faults = [(f.what, f.expected, f.found) for f in verifying.verify_chain(log)]
    assert faults == [("column device", B, str(changed))] * 3


@pytest.mark.parametrize("said", range(6))
def test_of_a_fork_the_one_of_the_later_hash_is_named(tmp_path: Path, said: int) -> None:
    """Whichever was made first: of these six the hash is later now of the one, now of the other."""
    made = Made()
    made.add("a1", A, 1)
    made.add("a2", A, 2, "a1", payload={"said": said})
    made.add("a2'", A, 2, "a1", payload={"said": -said})
    later = max(("a2", "a2'"), key=lambda name: made.entries[name].hash)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        (fault,) = verifying.verify_chain(log)
    assert (fault.what, fault.entry) == ("fork", made.entries[later].id)


def test_after_an_entry_that_cannot_be_read_links_are_looked_at_again(tmp_path: Path) -> None:
    """Of four the second's text is changed: it is named, and what follows it is not."""
    made = Made()
    _chain(made, A, 4)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        with forge.unguarded(log):
            log.execute("UPDATE entries SET body = 'x' WHERE seq = 2")
        faults = [(f.entry, f.what) for f in verifying.verify_chain(log)]
    assert faults == [(forge.uuid(2), "entry")]


def test_of_what_cannot_be_read_nothing_is_said_but_that(tmp_path: Path) -> None:
    """The second says a count no larger than the first's, which is unreadable: so it cannot be told.
    Who watches hears of it before anything is read, and then of each."""
    made = Made()
    made.add("a1", A, 1)
    made.add("a2", A, 2, "a1", tick=1)
    heard: list[tuple[str, int, int]] = []
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        with forge.unguarded(log):
            log.execute("UPDATE entries SET body = 'x' WHERE seq = 1")
        read = verifying.read_chain(log, lambda *told: heard.append(told))
    assert [(f.entry, f.what) for f in read.faults] == [(forge.uuid(1), "entry")]
    assert read.links == {made.entries["a2"].hash: made.entries["a1"].hash}
    assert [told[1:] for told in heard] == [(0, 0), (0, 2)]


def test_a_knowledge_file_has_no_key_for_no_name() -> None:
    """A sheet of no class; a name it does not know has a key of its own, the same each time."""
    file = knowledge.KnowledgeRead(
        text="",
        form=2,
        knowledge=None,  # type: ignore[arg-type]
        made="2026-06-01",
        program="",
        digest="",
        signed_by="",
        salt="ab",
        names={},
        called={},
    )
    assert file.new_key("class", "") == ""
    assert file.new_key("class", "TPO") == file.new_key("class", " tpo ") != ""
    assert file.new_key("class", "TPO").startswith("new:")
    assert file.new_key("sheet", "TPO") != file.new_key("class", "TPO")
    assert (file.keys_of("class", "TPO"), file.key_on("sheet", "1", "TPO")) == ((), "")
