"""One record with a fork, a gap and a link that is none: worked out by hand, question by question."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.keeping import forge
from tests.log.made import A, B, C, Made
from weldcal.log import chain, seal, store, verifying


@pytest.fixture
def made() -> Made:
    """A: 1, then 2 twice, and 3 after one of them. B: 1, 2, and 4. C: 1, and 2 with a wrong link."""
    made = Made()
    made.add("a1", A, 1)
    made.add("a2", A, 2, "a1")
    made.add("b1", B, 1)
    made.add("b2", B, 2, "b1")
    made.add("a2'", A, 2, "a1")
    made.add("a3", A, 3, "a2")
    made.add("b3", B, 3, "b2")
    made.add("b4", B, 4, "b3")
    made.add("c1", C, 1)
    made.add("c2", C, 2, "b1")
    return made


@pytest.fixture
def log(made: Made, tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """All but B's third."""
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as connection:
        chain.insert(connection, [e for name, e in made.entries.items() if name != "b3"])
        yield connection


def test_entries_come_in_the_order_of_what_was_known(log: sqlite3.Connection, made: Made) -> None:
    """By tick, whatever the devices; all of them, by each way of reading."""
    wanted = [e.hash for name, e in made.entries.items() if name != "b3"]
    assert [e.hash for e in chain.entries(log)] == wanted
    assert [e.hash for e in chain.entries_of_kind(log, "note")] == wanted
    assert {e.hash for e in chain.entries_in_any_order(log)} == set(wanted)
    assert chain.count_entries(log) == 9
    assert list(chain.entries_of_kind(log, "seal")) == []
    assert [e.hash for e in chain.entries_about(log, forge.uuid(2))] == [made.entries["a2"].hash]


def test_a_leaf_is_what_nothing_follows(log: sqlite3.Connection, made: Made) -> None:
    """The fork's end, the branch that went on, the end before the gap and after it."""
    ends = {"a2'": (A, 2), "a3": (A, 3), "b2": (B, 2), "b4": (B, 4), "c1": (C, 1), "c2": (C, 2)}
    assert chain.leaves(log) == sorted((*at, made.entries[n].hash) for n, at in ends.items())


def test_a_head_is_whole_up_to_a_fork_or_a_gap(log: sqlite3.Connection, made: Made) -> None:
    """A up to 1, B up to 2; C has both its places, whatever its link says."""
    wanted = {A: (1, "a1"), B: (2, "b2"), C: (2, "c2")}
    assert chain.whole_heads(log) == {d: (n, made.entries[e].hash) for d, (n, e) in wanted.items()}


def test_what_is_wrong_is_named_once_each(log: sqlite3.Connection, made: Made) -> None:
    """The fork where they part and not where one went on; the gap; the link."""
    ids = {name: entry.id for name, entry in made.entries.items()}
    hashes = {name: entry.hash for name, entry in made.entries.items()}
    later = max("a2", "a2'", key=hashes.__getitem__)
    faults = [(f.entry, f.what, f.expected, f.found) for f in verifying.verify_chain(log)]
    assert faults == [
        (ids[later], "fork", f"one entry 2 of device {A}", "two"),
        (ids["b4"], "gap", f"entry after 2 of device {B}", "entry 4"),
        (ids["c2"], "link", hashes["c1"], hashes["b1"]),
    ]
    assert verifying.forks(log) == [(A, 2)]
    assert verifying.branches_at(log, A, 2) == sorted([hashes["a2"], hashes["a2'"]])
    assert verifying.branches_at(log, A, 3) == verifying.branches_at(log, B, 2) == []


def test_two_branches_that_both_go_on_are_one_fork(made: Made, tmp_path: Path) -> None:
    """Both have a third entry: two in that place, each after another, and no fork there."""
    made.add("a3'", A, 3, "a2'")
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, [made.entries[n] for n in ("a1", "a2", "a2'", "a3", "a3'")])
        assert verifying.forks(log) == [(A, 2)]
        assert [fault.what for fault in verifying.verify_chain(log)] == ["fork"]
        assert verifying.branches_at(log, A, 3) == []


@pytest.mark.parametrize(("settles", "left"), [("both", []), ("one", ["fork"]), ("seq", ["fork"])])
def test_a_fork_is_settled_by_who_names_all_of_it(
    made: Made, tmp_path: Path, settles: str, left: list[str]
) -> None:
    """Its place, and both of its entries; settled, it is a fault no more and still a fork."""
    both = [made.entries["a2"].hash, made.entries["a2'"].hash]
    payload = {
        "device": A,
        "seq": 3 if settles == "seq" else 2,
        "hashes": both[:1] if settles == "one" else both,
        "done": "two copies of the book",
        "seen": {"at": "2026-06-01T08:00:00-06:00", "by": "Ben Okoro"},
    }
    made.add("c2'", C, 2, "c1", kind="fork-settled", payload=payload)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, [made.entries[n] for n in ("a1", "a2", "a2'", "a3", "c1", "c2'")])
        assert [fault.what for fault in verifying.verify_chain(log)] == left
        assert verifying.forks(log) == [(A, 2)]
        (said,) = verifying.settled_forks(log)
        assert (said.by, said.at, said.done) == (
            "Ben Okoro",
            "2026-06-01T08:00:00-06:00",
            "two copies of the book",
        )
        assert (said.device, said.seq, said.hashes) == (A, payload["seq"], set(payload["hashes"]))


@pytest.mark.parametrize(("tick", "told"), [(3, True), (4, True), (5, False)])
def test_a_tick_is_more_than_the_one_before_it(tmp_path: Path, tick: int, told: bool) -> None:
    """After one of 4: the same is a fault as well."""
    made = Made()
    made.add("a1", A, 1, tick=4)
    made.add("a2", A, 2, "a1", tick=tick)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        faults = [(f.entry, f.what, f.expected, f.found) for f in verifying.verify_chain(log)]
    assert faults == [(forge.uuid(2), "tick", "more than 4, the one before's", str(tick))] * told


def test_of_copies_of_one_id_the_first_known_stands(tmp_path: Path) -> None:
    """The first by its hash where that is known, else the first in order; the others are copies."""
    made = Made()
    made.add("one", A, 1)
    for n, name in ((2, "two"), (3, "three")):
        made.add(name, f"5742a900000{n}", 1, id=forge.uuid(1), about=forge.uuid(1))
    one, two, three = (entry.hash for entry in made.entries.values())
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        copies = chain.copies_of
        assert [e.hash for e in copies(log, forge.uuid(1), None)] == [two, three]
        assert [e.hash for e in copies(log, forge.uuid(1), two)] == [one, three]
        assert copies(log, forge.uuid(2), None) == []
        (fault,) = verifying.verify_chain(log)
        assert (fault.entry, fault.what, fault.expected, fault.found) == (
            forge.uuid(1),
            "id",
            "one entry with this id",
            "3",
        )


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("id", "x"),
        ("device", "x"),
        ("seq", 2),
        ("tick", 9),
        ("kind", "x"),
        ("job", None),
        ("about", "x"),
    ],
)
def test_a_column_that_says_otherwise_than_its_entry(
    tmp_path: Path, column: str, value: object
) -> None:
    """What the entry says is expected; what stands there was found."""
    made = Made()
    made.add("a1", A, 1)
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        chain.insert(log, made.entries.values())
        with forge.unguarded(log):
            log.execute(f"UPDATE entries SET {column} = ?", (value,))
        faults = {f.what: (f.entry, f.expected, f.found) for f in verifying.verify_chain(log)}
    said = getattr(made.entries["a1"], column)
    assert faults[f"column {column}"] == (forge.uuid(1), str(said), str(value))


def test_what_guards_the_entries_is_put_right(tmp_path: Path) -> None:
    """A trigger gone, one changed, one of somebody else, a view: each named, and none left after."""
    with contextlib.closing(store.create(tmp_path / "b.sqlite")) as log:
        names = [
            row[0] for row in log.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        ]
        assert len(names) >= 2
        log.execute(f"DROP TRIGGER {names[0]}")
        log.execute(f"DROP TRIGGER {names[1]}")
        log.execute(f"CREATE TRIGGER {names[1]} BEFORE DELETE ON entries BEGIN SELECT 1; END")
        log.execute('CREATE TRIGGER "of ""me" BEFORE INSERT ON entries BEGIN SELECT 1; END')
        log.execute("CREATE VIEW mine AS SELECT 1")
        faults = {f.what: (f.expected, f.found) for f in verifying.schema_faults(log)}
        assert set(faults) == {
            f"schema: trigger {names[0]}",
            f"schema: trigger {names[1]}",
            'schema: trigger of "me',
            "schema: view mine",
        }
        assert faults[f"schema: trigger {names[0]}"][1] == "gone from the book"
        assert faults["schema: view mine"] == ("no such thing", "CREATE VIEW mine AS SELECT 1")
        verifying.put_schema_right(log)
        assert verifying.schema_faults(log) == []


def test_the_code_of_a_seal_worked_out_from_its_own_description() -> None:
    """100 bits of SHA-256 in groups of five, Crockford's digits; then 20 bits that check them.

    SHA-256 of "abc" (FIPS 180-4) begins ba7816bf 8f01cfea 414140de 5d.
    """
    bits = f"{0xBA7816BF8F01CFEA414140DE5D:0104b}"[:100]
    digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    wanted = "".join(digits[int(bits[at : at + 5], 2)] for at in range(0, 100, 5))
    code = seal.code(b"abc")
    groups = code.split("-")
    assert [len(group) for group in groups] == [4] * 6
    assert "".join(groups[:5]) == wanted
    assert seal.read_code(code) == seal.read_code(code.lower().replace("-", " ")) == code
    for at in range(len(code)):
        if code[at] != "-":
            other = "7" if code[at] != "7" else "8"
            with pytest.raises(seal.CodeMistyped):
                seal.read_code(code[:at] + other + code[at + 1 :])
    for wrong in (code[:-1], code + "0", code.replace("-", "")[:-4], code[:-1] + "U", ""):
        with pytest.raises(seal.CodeMistyped):
            seal.read_code(wrong)
