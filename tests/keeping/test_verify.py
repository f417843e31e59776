"""`weldcal verify`, as the other side's expert would try it: every change named, none stumbled over."""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from weldcal.tables import compare

CHANGES = {
    "a word of the body": "UPDATE entries SET body = replace(body, '\"kind\"', '\"kInd\"') WHERE kind = ?",
    "a value": "UPDATE entries SET body = replace(body, 'Ana Ruiz', 'Ana Ruit') WHERE kind = ?",
    "cut off": "UPDATE entries SET body = substr(body, 1, 40) WHERE kind = ?",
    "no JSON": "UPDATE entries SET body = '{' WHERE kind = ?",
    "bytes, no text": "UPDATE entries SET body = x'ff' WHERE kind = ?",
    "its hash": "UPDATE entries SET hash = hash || 'x' WHERE kind = ?",
    "its place": "UPDATE entries SET seq = seq + 100 WHERE kind = ?",
    "its place, no number": "UPDATE entries SET seq = 'first' WHERE kind = ?",
    "its subject": "UPDATE entries SET about = 5.5 WHERE kind = ?",
    "its kind": "UPDATE entries SET kind = x'ff' WHERE kind = ?",
    "gone": "DELETE FROM entries WHERE kind = ?",
}


@pytest.fixture
def evening(go_ahead: Any) -> Any:
    """A book with one of many kinds, a seal last."""
    go_ahead.ok("amend S1 speed 5 --why slip")
    go_ahead.ok("seal")
    return go_ahead


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("kind", ["job", "strip", "amend", "seal"])
def test_a_changed_entry_is_a_fault_not_a_crash(evening: Any, kind: str, change: str) -> None:
    """Exit code 1 and at least one fault, whichever entry of whichever kind was changed."""
    if (kind, change) == ("seal", "gone"):
        pytest.skip("the last entry cut off: that is for the seal to find")
    forge.spoil(evening.book, CHANGES[change], kind)
    done = evening("verify --json")
    assert (done.code, done.err) == (1, "")
    assert done.json["faults"]


@pytest.mark.parametrize(
    "words",
    [
        "verify --rebuild",
        "pack out.pack",
        "backup out.sqlite",
        "conditions --ambient 60F",
        "roof",
        "seal",
    ],
)
@pytest.mark.parametrize("change", ["no JSON", "bytes, no text"])
def test_a_damaged_entry_gives_no_traceback_anywhere(
    evening: Any, words: str, change: str, tmp_path: Any, monkeypatch: Any
) -> None:
    """Done, refused with a sentence, or a fault: never "something went wrong inside"."""
    monkeypatch.chdir(tmp_path)
    forge.spoil(evening.book, CHANGES[change], "seal")
    done = evening(words)
    assert done.code in (0, 1, 2)
    assert "inside" not in done.err


def test_every_changed_entry_is_named(evening: Any) -> None:
    """Two of them changed: both ids are among the faults."""
    ids = [e["id"] for e in evening.entries() if e["kind"] in ("strip", "amend")]
    for kind in ("strip", "amend"):
        forge.spoil(evening.book, CHANGES["a value"], kind)
    named = {fault["entry"] for fault in evening("verify --json").json["faults"]}
    assert set(ids) <= named


def test_each_fault_says_what_was_expected_and_what_was_found(evening: Any) -> None:
    """A hash that does not fit names both hashes' beginnings."""
    forge.spoil(evening.book, CHANGES["a value"], "strip")
    for fault in evening("verify --json").json["faults"]:
        assert fault.keys() == {"entry", "what", "expected", "found"}
        assert all(isinstance(part, str) and part for part in fault.values())


def test_two_entries_in_one_place_are_a_fork(evening: Any) -> None:
    """The same device and sequence with two hashes is shown by verify."""
    last = json.loads(forge.entries_of(evening.book)[-1][0])
    other = forge.sealed(
        {**last, "id": forge.uuid(9), "about": forge.uuid(9), "kind": "telepathy", "payload": {}}
    )
    evening.ok("merge", str(forge.pack(evening.book.with_name("f.pack"), [other])))
    done = evening("verify --json")
    assert done.code == 1
    assert "fork" in [fault["what"] for fault in done.json["faults"]]


def test_two_entries_with_one_id_are_a_fault(go_ahead: Any, tmp_path: Any) -> None:
    """Ids are made never to meet (RFC 9562): an entry that takes a strip's id is shown, and both are kept."""
    (mine,) = [e for e in go_ahead.entries() if e["kind"] == "strip"]
    theirs = forge.sealed(
        {
            **mine,
            "device": "000000000000",
            "seq": 1,
            "tick": 1,
            "prev": forge.ZEROS,
            "payload": {**mine["payload"], "bubbling": "heavy"},
        }
    )
    go_ahead("merge", str(forge.pack(tmp_path / "f.pack", [theirs])))
    kept = [e for e in go_ahead.entries() if e["id"] == mine["id"]]
    if len(kept) == 2:
        done = go_ahead("verify --json")
        assert done.code == 1
        assert mine["id"] in [fault["entry"] for fault in done.json["faults"]]


def test_a_clock_set_back_keeps_the_order_and_is_told(job: Any) -> None:
    """Told when recording, told by verify, no fault; the order is that of recording."""
    job.clock.set("10:00")
    job.ok("conditions --ambient 60F")
    job.clock.set("10:00", days=-1)
    assert "clock" in job.ok("conditions --ambient 61F").out
    done = job.ok("verify --json")
    assert [clock["what"] for clock in done.json["clocks"]] == ["clock went back"]
    texts = [
        e["payload"]["conditions"]["ambient"]["text"]
        for e in job.entries()
        if e["kind"] == "conditions"
    ]
    assert texts == ["60F", "61F"]
    assert "clock went back" in " ".join(job.ok("verify").out.split())


def test_page_one_tells_of_clocks_in_its_readers_language(job: Any, tmp_path: Path) -> None:
    """What went back and when, in Spanish words, with the time as every page shows one."""
    job.clock.set("10:00")
    job.ok("conditions --ambient 60F")
    job.clock.set("10:00", days=-1)
    job.ok("conditions --ambient 61F")
    subprocess.run(
        [
            *(sys.executable, "-c", "from weldcal.cli.main import run; run()"),
            *("--book", str(job.book), "dossier", str(tmp_path / "page"), "--only", "html"),
        ],
        check=True,
        env={**os.environ, "WELDCAL_LANG": "es"},
        cwd=str(Path(__file__).parents[2]),
    )
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "el reloj retrocedió, 2026-05-31 10:00" in text
    assert "clock went back" not in text


def test_a_time_that_cannot_be_does_not_stop_verify(job: Any, tmp_path: Any) -> None:
    """An entry of the year 1 is refused in a pack, or does no harm afterwards."""
    one = forge.sealed(forge.envelope(at="0001-01-01T00:00:00+14:00"))
    two = forge.sealed(
        forge.envelope(id=forge.uuid(2), seq=2, tick=2, prev=one[1], at="0001-01-01T00:00:00+14:00")
    )
    job("merge", str(forge.pack(tmp_path / "f.pack", [one, two])))
    assert "inside" not in job("verify").err


TABLE_DAMAGE = [
    "UPDATE strips SET note = x'ff'",
    "UPDATE strips SET id = NULL",
    "UPDATE strips SET id = x'ff'",
    "UPDATE strips SET width_min_mm = 'x'",
    "ALTER TABLE strips RENAME COLUMN id TO jd",
    "ALTER TABLE strips RENAME COLUMN note TO mote",
    "DROP TABLE strips",
    "UPDATE local SET value = 'x' WHERE name = 'schema'",
]


@pytest.mark.parametrize("sql", TABLE_DAMAGE)
def test_damaged_tables_are_named_and_made_anew(evening: Any, sql: str) -> None:
    """The tables are no evidence, but verify has to get past them; a rebuild brings them back."""
    forge.spoil(evening.book, sql)
    done = evening("verify --json")
    assert done.code in (0, 1), done
    assert "inside" not in done.err
    assert done.code or sql.startswith("UPDATE local")
    evening.ok("verify --rebuild")
    evening.ok("verify")


def test_an_index_that_hides_an_entry_is_named(evening: Any) -> None:
    """The last cell of the index of ticks cut off: entries read in order are fewer than there are."""
    with contextlib.closing(sqlite3.connect(evening.book)) as connection:
        page = connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'entries_tick'"
        ).fetchone()[0]
        size = connection.execute("PRAGMA page_size").fetchone()[0]
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw = bytearray(evening.book.read_bytes())
    start = (page - 1) * size
    count = int.from_bytes(raw[start + 3 : start + 5], "big")
    raw[start + 3 : start + 5] = (count - 1).to_bytes(2, "big")
    evening.book.write_bytes(raw)
    done = evening("verify --json")
    assert done.code == 1
    assert done.json["faults"]


def test_rows_that_fit_are_made_once(evening: Any, monkeypatch: Any) -> None:
    """Only rows that differ are made a second time, to say how: a whole book costs one pass."""

    def again(*_args: object) -> None:
        raise AssertionError("made a second time")

    monkeypatch.setattr(compare, "_made_again", again)
    assert evening("verify").code == 0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("DROP TABLE bleeds", "roof"),
        ("DROP TABLE bleeds", "trace A1"),
        ("DROP TABLE bleeds", "bleed A1 10 1/4"),
        ("ALTER TABLE runs DROP COLUMN go_ahead", "roof"),
        ("ALTER TABLE runs DROP COLUMN go_ahead", "seam start A2 --nozzle 932 --speed 5.5"),
    ],
)
def test_a_table_taken_out_is_told_with_what_makes_it_anew(
    go_ahead: Any, change: str, words: str
) -> None:
    """By a page and by a recording; nothing is recorded, and the remedy that is named works."""
    go_ahead.ok("seam start A1 --nozzle 932 --speed 5.5")
    with contextlib.closing(sqlite3.connect(go_ahead.book)) as book:
        book.execute(change)
        book.commit()
    entries = go_ahead.entries()
    told = go_ahead(words)
    assert (told.code, told.out, len(told.err.splitlines())) == (2, "", 1)
    assert told.err.endswith("weldcal verify --rebuild\n")
    assert go_ahead.entries() == entries
    go_ahead.ok("verify --rebuild")
    go_ahead.ok(words)
