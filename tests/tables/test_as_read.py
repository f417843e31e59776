"""What a check of the tables reads by shorter ways is what the longer ones read."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldcal.log.chain import entries, readable
from weldcal.log.entry import Entry, unopened
from weldcal.records.codec import KINDS, decode, read
from weldcal.tables import projector
from weldcal.tables.columns import as_json

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(PLAIN)
def test_json_is_written_as_the_standard_library_writes_it(value: Any) -> None:
    """Whatever a payload can hold: signs that are escaped, none of them, nothing at all."""
    assert as_json(value) == json.dumps(value, sort_keys=True)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sqlite3.Connection]:
    """The demo's book: runs with their finish, strips with their pull, corrections."""
    from weldcal.cli.main import main

    book: Path = tmp_path_factory.mktemp("read") / "demo.sqlite"
    assert main(["demo", str(book)]) == 0
    connection = sqlite3.connect(book)
    yield connection
    connection.close()


def test_an_entry_left_unopened_says_the_same(kept: sqlite3.Connection) -> None:
    """Its envelope, and its payload once that is asked for."""
    for entry in entries(kept):
        shut = unopened(entry.body, entry.hash)
        names = ("v", "id", "device", "seq", "tick", "at", "who", "kind", "job", "about", "prev")
        assert [getattr(shut, n) for n in names] == [getattr(entry, n) for n in names]
        assert shut.payload == entry.payload


def test_a_record_read_from_its_json_is_the_one_decoded(kept: sqlite3.Connection) -> None:
    """Every entry of the demo; and what cannot be one is refused both ways, in the same words."""
    for entry in entries(kept):
        assert read(entry.kind, msgspec.json.encode(entry.payload)) == decode(
            entry.kind, entry.payload
        )


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("payload", [{}, {"name": 1}, {"seen": {"at": 7, "by": "Ana"}, "name": 1}])
def test_what_is_no_record_is_refused_both_ways(kind: str, payload: dict[str, Any]) -> None:
    """In the same words."""
    said = []
    for way in (lambda: decode(kind, payload), lambda: read(kind, msgspec.json.encode(payload))):
        with pytest.raises(ValueError) as refused:
            way()
        said.append(str(refused.value))
    assert said[0] == said[1]


def test_subjects_come_whole_however_many_wait(
    kept: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All rows are the same where no entry may wait for the others of its subject."""

    def rows() -> list[tuple[str, dict[str, Any]]]:
        unread: list[tuple[str, str]] = []
        found = sorted(projector.derived(kept, unread), key=repr)
        assert not unread
        return found

    wanted = rows()
    assert len(list(readable(kept.execute("SELECT body, hash FROM entries")))) > len(
        {entry.about for entry in entries(kept)}
    )
    for most in (0, 3):
        monkeypatch.setattr(projector, "_MOST_HELD", most)
        assert rows() == wanted
    assert isinstance(next(entries(kept)), Entry)
