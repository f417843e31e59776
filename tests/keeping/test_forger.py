"""The forger's table: one row a forgery, and what each command says of it. None is silent.

Who forges here owns the device and has an SQLite tool, SHA-256 and the published form.
"""

from __future__ import annotations

import contextlib
import json
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.keeping import forge

Says = dict[str, Any]


class Forgery(NamedTuple):
    """What the forger does to the book, and words that each command must say then.

    `told` has a command for each of verify, seal, backup, roof, evening, dossier: "" where
    that command has nothing to say of it.
    """

    does: Callable[[Any], None]
    verify: str
    others: str = "NOT PROVED"
    code: int = 1


def _table(sql: str) -> Callable[[Any], None]:
    return lambda book: forge.spoil(book.book, sql)


def _script(sql: str) -> Callable[[Any], None]:
    def does(book: Any) -> None:
        with contextlib.closing(sqlite3.connect(book.book)) as connection, connection:
            connection.executescript(sql)

    return does


def _entries(change: Callable[[Says], Says | None]) -> Callable[[Any], None]:
    def does(book: Any) -> None:
        forge.rewrite(book.book, change)
        book("verify --rebuild")

    return does


def _without_findings(says: Says) -> Says | None:
    return None if says["kind"] == "finding" else says


def _backdated(book: Any) -> None:
    """Every tick turned round on the last two entries, hashes and links made anew."""
    last = len(book.entries())
    ticks = {last: last - 1, last - 1: last}
    forge.rewrite(book.book, lambda s: {**s, "tick": ticks.get(s["tick"], s["tick"])})
    book("verify --rebuild")


def _fork(book: Any) -> None:
    """Another copy of the book went on from the last entry but one."""
    last = json.loads(forge.entries_of(book.book)[-1][0])
    other = {**last, "id": forge.uuid(9), "about": forge.uuid(9), "kind": "telepathy"}
    made = forge.sealed({**other, "payload": {}})
    book("merge", str(forge.pack(book.book.with_name("f.pack"), [made])))


FORGERIES = {
    "a finding deleted from its table": Forgery(
        _table("DELETE FROM findings WHERE name = 'F1'"), "table findings"
    ),
    "a walk put into its table": Forgery(
        _table("UPDATE walks SET end_m = 99 WHERE name = 'W1'"), "table walks"
    ),
    "a mend put where none was": Forgery(
        _table("INSERT INTO mends (id, job, seam) VALUES ('x', 'y', 'A1')"), "table mends"
    ),
    "findings removed, the chain hashed anew": Forgery(_entries(_without_findings), "seal count"),
    "a name changed, the chain hashed anew": Forgery(
        _entries(lambda s: {**s, "who": "Ana Luz"}), "not in this book"
    ),
    "ticks turned round": Forgery(_backdated, "tick"),
    "a fork": Forgery(_fork, "fork"),
    "the guard against changes dropped": Forgery(
        _script("DROP TRIGGER entries_no_update"), "schema: trigger entries_no_update"
    ),
    "a trigger that eats findings": Forgery(
        _script(
            "CREATE TRIGGER x AFTER INSERT ON findings BEGIN DELETE FROM findings WHERE id = new.id; END"
        ),
        "schema: trigger x",
    ),
    "an index that keeps entries out": Forgery(
        _script("CREATE UNIQUE INDEX y ON entries (kind, about, job, id)"), "schema: index y"
    ),
}


@pytest.fixture
def sealed_day(welded_whole: Any) -> Any:
    """A day welded and probed with a finding, sealed; two entries after the seal."""
    welded_whole.ok('probe A1 0-20 --void "14.5+3in x 1/2in" --by BO')
    welded_whole.ok("seal")
    welded_whole.ok("conditions --ambient 60F")
    welded_whole.ok("conditions --ambient 61F")
    return welded_whole


def squeezed(text: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def page_1(book: Any, folder: Path) -> str:
    """What page 1 of the dossier says of the record."""
    book.ok("dossier", str(folder), "--only", "html")
    text = squeezed(folder.with_suffix(".html").read_text(encoding="utf-8"))
    return text.partition("Hashes, links, seals, tables and photos")[2][:60]


def test_the_true_day_is_proved_by_every_command(sealed_day: Any, tmp_path: Path) -> None:
    """Else the table below would prove nothing."""
    assert "NOT PROVED" not in sealed_day.ok("roof").out
    assert "NOT PROVED" not in sealed_day.ok("evening").out
    assert "verified" in sealed_day.ok("backup", str(tmp_path / "b")).out
    assert "all hold" in page_1(sealed_day, tmp_path / "d")
    sealed_day.ok("seal")


@pytest.mark.parametrize("name", FORGERIES)
def test_no_command_is_silent_about_a_forgery(sealed_day: Any, tmp_path: Path, name: str) -> None:
    """verify names it with exit code 1; roof, evening, dossier, backup and seal say that it is so."""
    forgery, book = FORGERIES[name], sealed_day
    book.ok("roof")  # a note of a clean book is there, and must not hide what comes
    forgery.does(book)
    done = book("verify")
    assert done.code == 1
    assert forgery.verify in squeezed(done.out)
    for page in ("roof", "evening"):
        assert forgery.others in squeezed(book.ok(page).out), page
    assert re.search(r"\d faults?", page_1(book, tmp_path / "d"))
    for words in (["backup", str(tmp_path / "b")], ["seal", "--json"]):
        done = book(*words)
        assert done.code == 1, words
        assert "fault" in done.err
        assert "verified" not in done.out


def test_a_broken_guard_is_put_right_by_the_command_that_is_named(sealed_day: Any) -> None:
    """Guards dropped, foreign ones added, a table changed: verify --rebuild, and all holds."""
    for name in ("the guard against changes dropped", "a trigger that eats findings"):
        FORGERIES[name].does(sealed_day)
    sealed_day.ok("verify --rebuild")
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        _script("UPDATE entries SET kind = 'x'")(sealed_day)


def test_a_seal_report_says_whose_key_what_since_and_in_what_order(
    welded_whole: Any, tmp_path: Path
) -> None:
    """Sealed up to where, by which key, entries since, what was corrected, where the record ends."""
    book, key = welded_whole, tmp_path / "k.pem"
    public = book.ok("key", str(key), "--json").json["public_key"]
    code = book.ok("seal", "--sign", str(key), "--json").json["code"]
    book.ok("amend R1 speed 6 --why misread")
    said = squeezed(book.ok("verify", "--seal", code, "--key", public.upper()).out)
    for words in (
        "last of each device",
        "Signed with key",
        "R1: travel speed corrected",
        "ends at",
    ):
        assert words in said
    done = book("verify", "--seal", code, "--key", "0" * 64)
    assert done.code == 1
    assert "signature" in done.out
    assert book("verify", "--seal", code, "--key", "beef").code == 2
    assert book("verify", "--key", public).code == 2

    def stripped(says: Says) -> Says:
        left = {k: v for k, v in says["payload"].items() if k not in ("key", "signature")}
        return {**says, "payload": left} if says["kind"] == "seal" else says

    _entries(stripped)(book)
    assert "Not signed" in squeezed(book.ok("verify", "--seal", code).out)
    done = book("verify", "--seal", code, "--key", public)
    assert done.code == 1
    assert "not signed" in squeezed(done.out)


def test_a_tail_cut_off_shows_by_the_note_and_by_where_the_record_ends(sealed_day: Any) -> None:
    """Nothing in the chain can show it; the note beside the book does, until it is forged too."""
    code = sealed_day.ok("seal --list --json").json[0]["code"]
    tick, last = (sealed_day.entries()[-1][name] for name in ("tick", "seq"))
    _entries(lambda s: None if s["tick"] > tick - 2 else s)(sealed_day)
    said = squeezed(sealed_day("verify", "--seal", code).out)
    assert f"ends at entry {last - 2}" in said
    assert f"says {last}" in said
    assert "cut off again does not show by it" in said


def test_a_gap_and_a_fork_do_not_stop_backup_and_restore(
    job: Any, device: Callable[[str], Any], tmp_path: Path
) -> None:
    """An ordinary merge out of order: copied, told with its remedy, restored."""
    for ambient in (60, 61):
        job.ok(f"conditions --ambient {ambient}F")
    job.ok("pack", str(tmp_path / "all"))
    entries = forge.entries_of(job.book)
    other = device("other")
    other.ok("merge", str(forge.pack(tmp_path / "late", entries[:1] + entries[2:])))
    done = other("backup", str(tmp_path / "b"))
    assert done.code == 1
    assert "Merge the pack that has them" in squeezed(done.err)
    done = other("restore", str(tmp_path / "b"))
    assert done.code == 1
    assert "Restored" in done.out
    third = device("third")
    assert third("restore", str(tmp_path / "b")).code == 1
    assert "Restored" in third("restore", str(tmp_path / "b")).out
    third.ok("merge", str(tmp_path / "all"))
    third.ok("verify")


def test_a_fork_is_settled_by_an_entry_and_stays_told(sealed_day: Any, tmp_path: Path) -> None:
    """Both branches stay; another entry in the same place is a fork anew."""
    _fork(sealed_day)
    (fork,) = [f for f in sealed_day("verify --json").json["faults"] if f["what"] == "fork"]
    seq, device = re.findall(r"entry (\d+) of device (\w+)", fork["expected"])[0]
    assert "forks:" in sealed_day.refused("settle", f"{device}/999", "x")
    sealed_day.ok("settle", f"{device[:4]}/{seq}", "two copies of one phone's book")
    said = squeezed(sealed_day.ok("verify").out)
    assert "settled by Ana Ruiz" in said
    assert "two copies" in said
    sealed_day.ok("backup", str(tmp_path / "b"))
    one = json.loads(forge.entries_of(sealed_day.book)[int(seq) - 1][0])
    third = forge.sealed({**one, "id": forge.uuid(8), "about": forge.uuid(8), "kind": "x"})
    sealed_day.ok("merge", str(forge.pack(tmp_path / "t", [third])))
    assert sealed_day("verify").code == 1


@pytest.mark.parametrize("how", ["another past", "a tick that goes back", "another first"])
def test_a_pack_whose_links_contradict_the_book_is_refused(
    sealed_day: Any, tmp_path: Path, how: str
) -> None:
    """The chain went on otherwise here: nothing of the pack is taken in."""
    entries = [json.loads(body) for body, _kept in forge.entries_of(sealed_day.book)]
    last, next_one = entries[-1], {"id": forge.uuid(7), "about": forge.uuid(7), "kind": "x"}
    kept = forge.entries_of(sealed_day.book)[-1][1]
    if how == "another past":
        made = {**last, **next_one, "seq": last["seq"] + 1, "tick": 99, "prev": "a" * 64}
    elif how == "a tick that goes back":
        made = {**last, **next_one, "seq": last["seq"] + 1, "tick": 3, "prev": kept}
    else:
        made = {**entries[0], **next_one, "prev": "b" * 64}
    before = len(entries)
    done = sealed_day("merge", str(forge.pack(tmp_path / "p", [forge.sealed(made)])))
    assert done.code == 2
    assert "does not follow" in done.err
    assert len(sealed_day.entries()) == before


def test_a_bad_time_in_an_entry_is_a_fault_and_no_crash(sealed_day: Any, tmp_path: Path) -> None:
    """The hash fits; the time is none."""
    forge.rewrite(sealed_day.book, lambda s: {**s, "at": "noon"} if s["kind"] == "walk" else s)
    for words in (["verify"], ["dossier", str(tmp_path / "d"), "--only", "html"], ["roof"]):
        done = sealed_day(*words)
        assert "inside" not in done.err, words
    assert sealed_day("verify").code == 1


def test_an_evening_gone_by_stands_though_a_time_in_the_record_is_none(sealed_day: Any) -> None:
    """The walk says noon: nobody knows of which day, so it is left to that evening too."""

    def at_noon(says: Says) -> Says:
        if says["kind"] != "walk":
            return says
        seen = {**says["payload"]["seen"], "at": "noon"}
        return {**says, "payload": {**says["payload"], "seen": seen}}

    forge.rewrite(sealed_day.book, at_noon)
    assert "NOT PROVED" in squeezed(sealed_day.ok("evening --day 2026-05-31").out)


def _copy_of(book: Any, of: str, **change: Any) -> forge.Entry:
    """A changed copy of the first entry of a kind, from a strange device, in the past."""
    (mine, *_more) = [e for e in book.entries() if e["kind"] == of]
    payload = {**mine["payload"], **change}
    made = {**mine, "device": "000000000000", "seq": 1, "tick": 1, "prev": forge.ZEROS}
    return forge.sealed({**made, "payload": payload})


def test_a_changed_copy_stands_behind_the_entry_known_first(
    sealed_day: Any, tmp_path: Path
) -> None:
    """Though its tick is lower: both are in the trace, the true one first, and it alone counts."""
    far = {"text": "9ft", "number": "9", "unit": "ft"}
    copy = _copy_of(sealed_day, "finding", start=far, end=far, kind="wrinkle")
    sealed_day("merge", str(forge.pack(tmp_path / "c", [copy])))
    told = [line for line in sealed_day.ok("trace A1").out.splitlines() if " F1 " in line]
    assert len(told) == 2
    assert "14 ft 6 in" in told[0]
    assert "void" in told[0]
    assert "9 ft" in told[1]
    assert "another entry of this id" in squeezed(sealed_day.ok("trace A1").out)
    (row,) = sealed_day.query("SELECT kind FROM findings")
    assert row["kind"] == "void"
    assert sealed_day("verify --rebuild").code == 1
    assert [r["kind"] for r in sealed_day.query("SELECT kind FROM findings")] == ["void"]
    assert [f["what"] for f in sealed_day("verify --json").json["faults"]] == ["id"]


BAD_NAMES = {
    "strip": {"name": "S1\x1b[2J"},
    "finding": {"name": "\x1b]0;x\x07"},
    "run": {"warnings": ["\x1b[2J"]},
    "seal": {"name": "L1\x9b2J"},
}


@pytest.mark.parametrize("kind", BAD_NAMES)
def test_a_short_name_that_the_program_cannot_give_is_refused(
    sealed_day: Any, tmp_path: Path, kind: str
) -> None:
    """Clear-screen in a name or a code: not taken in."""
    copy = json.loads(_copy_of(sealed_day, kind, **BAD_NAMES[kind])[0])
    made = forge.sealed({**copy, "id": forge.uuid(5), "about": forge.uuid(5)})
    done = sealed_day("merge", str(forge.pack(tmp_path / "c", [made])))
    assert done.code == 2
    assert "not a" in done.err


OBEYED = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def test_what_is_in_the_book_already_is_obeyed_by_no_page(sealed_day: Any, tmp_path: Path) -> None:
    """Names put straight into the tables and entries, past every reader: shown, never obeyed."""
    bad = "X\x1b[2J\x9b2J\u202eY"
    for table in ("strips", "findings", "runs", "seals", "walks"):
        forge.spoil(sealed_day.book, f"UPDATE {table} SET name = ?", bad)
    forge.spoil(sealed_day.book, "UPDATE runs SET warnings = ?", json.dumps([bad]))
    for words in ("roof", "strip list", "trace A1", "seal --list", "roof --json", "verify"):
        assert not OBEYED.search(sealed_day(words).out), words
