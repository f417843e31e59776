"""The chain: what an entry hashes, and every change to it found.

Outside references: the canonical form by the standard library's json (for
ASCII keys and no floats, RFC 8785 is `sort_keys` with no spaces), the hash by
hashlib's SHA-256 (FIPS 180-4).
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from weldcal.log import chain, store, verifying
from weldcal.log.entry import DEEPEST, GENESIS, MOST, Entry, Envelope, digest, seal_entry
from weldcal.log.reading import read_entry

AT = "2026-06-01T07:00:00.000-06:00"
MINE, THEIRS = "0123456789ab", "cdef01234567"
ID = "019b76da-a800-7000-8000-000000000001"
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=10)
PART = st.recursive(
    TEXT | st.integers(-(2**53) + 1, 2**53 - 1) | st.booleans() | st.none(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.from_regex(r"[a-z_]{1,6}", fullmatch=True), inner, max_size=3)
    ),
    max_leaves=8,
)
PAYLOADS = st.dictionaries(st.from_regex(r"[a-z_]{1,6}", fullmatch=True), PART, max_size=5)


@pytest.fixture
def log(tmp_path: Path) -> Any:
    """An empty book's log, with `add` to append as one device."""
    connection = store.create(tmp_path / "log.sqlite")
    yield connection
    connection.close()


def add(connection: sqlite3.Connection, *names: str, device: str = MINE) -> list[Any]:
    """Append entries that say their names."""
    drafts = [chain.NewEntry("note", {"name": name}, None) for name in names]
    return chain.append(connection, device, AT, "Ana Ruiz", drafts)


def canonical(envelope: dict[str, Any]) -> bytes:
    """The canonical form by another hand."""
    return json.dumps(envelope, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def sealed(says: dict[str, Any]) -> Entry:
    """The entry that says this."""
    return seal_entry(Envelope(**says))


def envelope(payload: dict[str, Any]) -> dict[str, Any]:
    """The first entry a device would make."""
    return {
        "v": 1,
        "id": ID,
        "device": MINE,
        "seq": 1,
        "tick": 1,
        "at": AT,
        "who": "Ana Ruiz",
        "kind": "note",
        "job": None,
        "about": ID,
        "payload": payload,
        "prev": GENESIS,
    }


@given(PAYLOADS)
def test_what_is_hashed_is_the_canonical_form(payload: dict[str, Any]) -> None:
    """The same bytes as json.dumps(sort_keys), and their SHA-256 by hashlib."""
    entry = sealed(envelope(payload))
    assert entry.body.encode() == canonical(envelope(payload))
    assert entry.hash == hashlib.sha256(canonical(envelope(payload))).hexdigest()


def test_the_hash_is_sha_256() -> None:
    """FIPS 180-4's own example: the digest of "abc"."""
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@given(PAYLOADS, PAYLOADS)
def test_two_payloads_have_one_hash_only_if_they_are_one(
    a: dict[str, Any], b: dict[str, Any]
) -> None:
    """Every value of the payload participates."""
    same = canonical(a) == canonical(b)
    assert (sealed(envelope(a)).hash == sealed(envelope(b)).hash) is same


@pytest.mark.parametrize("field", list(envelope({})))
def test_every_field_of_the_envelope_participates_in_the_hash(field: str) -> None:
    """Change any one and the hash is another."""
    changed = envelope({}) | {field: {"x": "y"} if field == "payload" else "other"}
    assert sealed(changed).hash != sealed(envelope({})).hash


def test_each_entry_holds_the_hash_of_the_one_before(log: sqlite3.Connection) -> None:
    """The first holds zeros; sequence counts from 1."""
    first, second = add(log, "one", "two")
    (third,) = add(log, "three")
    assert [e.seq for e in (first, second, third)] == [1, 2, 3]
    assert [e.prev for e in (first, second, third)] == [GENESIS, first.hash, second.hash]


def test_each_device_has_a_chain_of_its_own(log: sqlite3.Connection) -> None:
    """Sequences are per device; the tick goes on across them."""
    add(log, "one")
    (theirs,) = add(log, "two", device=THEIRS)
    (mine,) = add(log, "three")
    assert (theirs.seq, theirs.prev, theirs.tick) == (1, GENESIS, 2)
    assert (mine.seq, mine.tick) == (2, 3)
    assert verifying.verify_chain(log) == []


def test_putting_the_same_entries_in_again_adds_nothing(log: sqlite3.Connection) -> None:
    """An entry is known by its hash."""
    made = add(log, "one", "two")
    chain.insert(log, made)
    assert [e.hash for e in chain.entries(log)] == [e.hash for e in made]


def test_ids_sort_by_the_time_they_were_made() -> None:
    """UUIDv7 (RFC 9562 section 5.7): version 7, milliseconds first."""
    ids = [chain.new_id() for _ in range(50)]
    assert all(one[14] == "7" for one in ids)
    assert [one[:13] for one in ids] == sorted(one[:13] for one in ids)
    assert len(set(ids)) == 50


@pytest.mark.parametrize(
    "sql", ["UPDATE entries SET who = 'x'", "UPDATE entries SET body = '{}'", "DELETE FROM entries"]
)
def test_an_entry_cannot_be_changed_by_a_slip(log: sqlite3.Connection, sql: str) -> None:
    """Triggers refuse UPDATE and DELETE."""
    (made,) = add(log, "one")
    sql = sql.replace("who = 'x'", "kind = 'x'")
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        log.execute(sql)
    assert [e.hash for e in chain.entries(log)] == [made.hash]


def tamper(connection: sqlite3.Connection, sql: str, *values: object) -> None:
    """What somebody does who means it: drop the triggers, change the file."""
    connection.execute("DROP TRIGGER IF EXISTS entries_no_update")
    connection.execute("DROP TRIGGER IF EXISTS entries_no_delete")
    assert connection.execute(sql, values).rowcount == 1


def resealed(entry: Any, **changes: Any) -> tuple[str, str]:
    """The entry with changes and a hash that fits them."""
    made = seal_entry(structs.replace(entry.says, **changes))
    return made.body, made.hash


Attack = Callable[[sqlite3.Connection, Any], None]
ATTACKS: dict[str, tuple[Attack, str]] = {
    "a word of the body": (
        lambda c, e: tamper(
            c, "UPDATE entries SET body = replace(body, 'two', 'TWO') WHERE seq = 2"
        ),
        "entry",
    ),
    "the hash": (
        lambda c, e: tamper(c, "UPDATE entries SET hash = ? WHERE seq = 2", "0" * 64),
        "entry",
    ),
    "the body and its hash": (
        lambda c, e: tamper(
            c,
            "UPDATE entries SET body = ?, hash = ? WHERE seq = 2",
            *resealed(e, payload={"name": "x"}),
        ),
        "link",
    ),
    "its link to the one before": (
        lambda c, e: tamper(
            c, "UPDATE entries SET body = ?, hash = ? WHERE seq = 2", *resealed(e, prev=GENESIS)
        ),
        "link",
    ),
    "deleted from the middle": (lambda c, e: tamper(c, "DELETE FROM entries WHERE seq = 2"), "gap"),
    "the column seq": (
        lambda c, e: tamper(c, "UPDATE entries SET seq = 9 WHERE seq = 2"),
        "column seq",
    ),
    "the column kind": (
        lambda c, e: tamper(c, "UPDATE entries SET kind = 'x' WHERE seq = 2"),
        "column kind",
    ),
    "the column about": (
        lambda c, e: tamper(c, "UPDATE entries SET about = 'x' WHERE seq = 2"),
        "column about",
    ),
    "the column tick": (
        lambda c, e: tamper(c, "UPDATE entries SET tick = 1 WHERE seq = 2"),
        "column tick",
    ),
    "the column job": (
        lambda c, e: tamper(c, "UPDATE entries SET job = 'x' WHERE seq = 2"),
        "column job",
    ),
    "the column id": (
        lambda c, e: tamper(c, "UPDATE entries SET id = 'x' WHERE seq = 2"),
        "column id",
    ),
    "the column device": (
        lambda c, e: tamper(c, "UPDATE entries SET device = 'x' WHERE seq = 2"),
        "column device",
    ),
    "its form": (
        lambda c, e: tamper(
            c, "UPDATE entries SET body = ?, hash = ? WHERE seq = 2", "[]", digest(b"[]")
        ),
        "entry",
    ),
    "its text, no JSON": (
        lambda c, e: tamper(
            c, "UPDATE entries SET body = ?, hash = ? WHERE seq = 2", "{", digest(b"{")
        ),
        "entry",
    ),
    "its format": (
        lambda c, e: tamper(
            c, "UPDATE entries SET body = ?, hash = ? WHERE seq = 2", *resealed(e, v=2)
        ),
        "entry",
    ),
    "a second one in its place": (
        lambda c, e: tamper(
            c,
            "INSERT INTO entries SELECT ?, id, device, seq, tick, kind, job, about, ? FROM entries WHERE seq = 2",
            *reversed(resealed(e, payload={"name": "other"})),
        ),
        "fork",
    ),
}


@pytest.mark.parametrize("attack", ATTACKS)
def test_a_tampered_entry_is_found(log: sqlite3.Connection, attack: str) -> None:
    """Of three entries the second is changed; a fault of that sort is among those named."""
    _one, two, _three = add(log, "one", "two", "three")
    assert verifying.verify_chain(log) == []
    change, expected = ATTACKS[attack]
    change(log, two)
    assert expected in {fault.what for fault in verifying.verify_chain(log)}


def test_all_faults_are_named_not_only_the_first(log: sqlite3.Connection) -> None:
    """Two entries changed, two named, each with its entry's id."""
    made = add(log, "one", "two", "three", "four")
    for seq in (1, 3):
        tamper(log, "UPDATE entries SET body = body || ' ' WHERE seq = ?", seq)
    named = {fault.entry for fault in verifying.verify_chain(log) if fault.what == "entry"}
    assert named == {made[0].id, made[2].id}


@pytest.mark.parametrize(
    "change",
    [
        {"seq": 0},
        {"seq": True},
        {"tick": 1.5},
        {"seq": MOST + 1},
        {"tick": MOST + 1},
        {"payload": []},
        {"who": 5},
        {"job": 5},
        {"v": 2},
        {"v": True},
        {"more": 1},
        {"id": "a"},
        {"device": "d"},
        {"at": "noon"},
        {"at": "2026-06-01T07:00:00"},
        {"about": None},
        {"payload": {"a": 1.5}},
    ],
    ids=str,
)
def test_an_entry_of_the_wrong_form_is_refused(change: dict[str, Any]) -> None:
    """Its hash fits; types, counts, times and field names are part of the form."""
    good, bad = canonical(envelope({})), canonical(envelope({}) | change)
    assert read_entry(good.decode(), digest(good)).seq == 1
    with pytest.raises(ValueError, match=r".+"):
        read_entry(bad.decode(), digest(bad))


@pytest.mark.parametrize(
    "body",
    [
        json.dumps(envelope({})),
        json.dumps(envelope({}), sort_keys=True),
        "{" + "[" * 100_000,
        '{"v":1,"v":1}',
        "",
    ],
    ids=["unsorted", "spaces", "deep", "twice", "empty"],
)
def test_another_writing_of_the_same_entry_is_refused(body: str) -> None:
    """One entry has one text: else it would have two hashes."""
    with pytest.raises(ValueError, match=r".+"):
        read_entry(body, digest(body.encode()))


NOT_EXACT = st.floats(allow_nan=False, allow_infinity=False) | st.sampled_from(
    [MOST + 1, -MOST - 1, 10**18, 1e-7, 1e300, -0.5]
)


@given(PAYLOADS, NOT_EXACT, st.lists(st.sampled_from(["list", "dict"]), max_size=4))
def test_a_number_that_is_not_held_exactly_is_refused_wherever_it_stands(
    payload: dict[str, Any], number: float, way: list[str]
) -> None:
    """Canonical otherwise, and its hash fits: without the number it is taken."""
    value: Any = number
    for kind in way:
        value = [True, value] if kind == "list" else {"a": ":1.5", "b": value}
    body = canonical(envelope(payload))
    assert read_entry(body.decode(), digest(body)).payload == payload
    bad = msgspec.json.encode(envelope({**payload, "z": value}), order="sorted")
    with pytest.raises(ValueError, match="not held exactly"):
        read_entry(bad.decode(), digest(bad))


@pytest.mark.parametrize(("depth", "taken"), [(DEEPEST - 1, True), (DEEPEST, False)])
def test_nesting_is_bounded(depth: int, taken: bool) -> None:
    """As deep as the form allows is taken; one deeper is not."""
    value: Any = "x"
    for _ in range(depth):
        value = [value]
    body = canonical(envelope({"a": value}))
    if taken:
        assert read_entry(body.decode(), digest(body)).seq == 1
        return
    with pytest.raises(ValueError, match="nested deeper"):
        read_entry(body.decode(), digest(body))


def test_a_file_is_a_book_only_by_its_application_id(tmp_path: Path) -> None:
    """And it is made durable: WAL, synchronous FULL, readable by its owner only."""
    path = tmp_path / "b.sqlite"
    with contextlib.closing(store.create(path)) as connection:
        assert connection.execute("PRAGMA application_id").fetchone()[0] == store.APPLICATION_ID
    with contextlib.closing(store.open_existing(path, write=True)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2
    assert path.stat().st_mode & 0o077 == 0
