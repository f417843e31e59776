"""The seal's promise: any change made after it left the crew's hands shows, whoever makes it."""

from __future__ import annotations

import re
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge

Says = dict[str, Any]


@pytest.fixture
def sealed(go_ahead: Any) -> tuple[Any, str]:
    """A book sealed, its code, and a day's work after the seal."""
    code = go_ahead.ok("seal --json").json["code"]
    go_ahead.ok("conditions --ambient 61F")
    return go_ahead, code


def payload_of(kind: str, **changes: Any) -> Callable[[Says], Says]:
    """A change of every entry of a kind."""
    return lambda says: (
        {**says, "payload": {**says["payload"], **changes}} if says["kind"] == kind else says
    )


def cut(last: int, but: str = "") -> Callable[[Says], Says | None]:
    """Drop all after the first `last` entries, but those of one kind."""
    seen: list[Says] = []

    def keep(says: Says) -> Says | None:
        seen.append(says)
        return says if len(seen) <= last or says["kind"] == but else None

    return keep


REWRITES: dict[str, Callable[[Says], Says | None]] = {
    "a strip made worse": payload_of("strip", bubbling="heavy"),
    "who saw it": payload_of("strip", seen={"at": "2026-06-01T06:40:00-06:00", "by": "Ben Okoro"}),
    "who typed it": lambda says: {**says, "who": "Ben Okoro"} if says["kind"] == "pull" else says,
    "when it was typed": lambda says: (
        {**says, "at": "2026-06-02T07:00:00-06:00"} if says["kind"] == "pull" else says
    ),
    "one left out": lambda says: None if says["kind"] == "pull" else says,
    "the tail cut": cut(7),
    "the tail cut, the seal kept": cut(7, but="seal"),
}


def test_an_untouched_record_is_confirmed_years_later(sealed: tuple[Any, str]) -> None:
    """What was recorded after the seal does not matter to it."""
    weldcal, code = sealed
    weldcal.clock.set("07:00", days=3650)
    assert "unchanged" in weldcal.ok("verify", "--seal", code).out


@pytest.mark.parametrize("change", REWRITES)
def test_a_rewritten_record_fails_against_the_seal(sealed: tuple[Any, str], change: str) -> None:
    """Every later hash recomputed, every table rebuilt: the chain alone cannot tell, the seal can.

    A plain verify holds the record against every seal it finds; only with the seal's own entry
    gone too is the code on paper needed.
    """
    weldcal, code = sealed
    forge.rewrite(weldcal.book, REWRITES[change])
    weldcal("verify --rebuild")
    assert weldcal("verify").code == (0 if change == "the tail cut" else 1)
    done = weldcal("verify", "--json", "--seal", code)
    assert done.code == 1
    assert done.json["faults"]


@pytest.mark.parametrize(
    "change",
    [
        {"seen": {"at": "2020-01-01T07:00:00-07:00", "by": "Ana Ruiz"}},
        {"seen": {"at": "2026-06-01T06:40:00-06:00", "by": "Ben Okoro"}},
        {"counts": {"strip": 900}},
        {"label": "the whole roof"},
        {"entries": 900},
        {"heads": []},
    ],
    ids=str,
)
def test_a_seal_binds_all_that_it_shows(sealed: tuple[Any, str], change: Says) -> None:
    """Its date, maker, name, label and counts stand on the paper beside the code."""
    weldcal, code = sealed
    forge.rewrite(weldcal.book, payload_of("seal", **change))
    weldcal("verify --rebuild")
    assert weldcal("verify", "--seal", code).code == 1


def test_a_seal_forged_into_the_record_does_not_answer_to_the_code_on_paper(
    sealed: tuple[Any, str],
) -> None:
    """The forger writes the right code into a seal over another record."""
    weldcal, code = sealed
    forge.rewrite(weldcal.book, payload_of("strip", bubbling="heavy"))
    weldcal("verify --rebuild")
    made = weldcal("seal --json")
    assert made.code == 1  # the seal before it no longer holds
    other = made.json["code"]
    assert other != code
    forge.rewrite(
        weldcal.book,
        lambda s: (
            {**s, "payload": {**s["payload"], "code": code}}
            if s["payload"].get("code") == other
            else s
        ),
    )
    weldcal("verify --rebuild")
    assert weldcal("verify", "--seal", code).code == 1


@pytest.mark.parametrize(
    "typed",
    [
        str.lower,
        lambda c: c.replace("-", " "),
        lambda c: c.replace("-", ""),
        lambda c: c.replace("0", "O"),
        lambda c: c.replace("1", "I"),
        lambda c: c.replace("1", "l"),
        lambda c: f" {c}. ",
    ],
    ids=["lower", "spaces", "together", "O for 0", "I for 1", "l for 1", "a full stop"],
)
def test_a_code_is_taken_as_people_type_it(
    sealed: tuple[Any, str], typed: Callable[[str], str]
) -> None:
    """Crockford's base 32: no case, 0 and O, 1, I and L are the same (D. Crockford, "Base 32")."""
    weldcal, code = sealed
    weldcal.ok("verify", "--seal", typed(code))


def test_a_mistyped_code_is_told_from_a_wrong_one(sealed: tuple[Any, str]) -> None:
    """A slip: type it again, exit 2. A true code of something else: not this record, exit 1."""
    weldcal, code = sealed
    signs = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    for place in [n for n, sign in enumerate(code) if sign != "-"]:
        slip = code[:place] + signs[signs.index(code[place]) - 1] + code[place + 1 :]
        done = weldcal("verify", "--seal", slip)
        assert done.code == 2
        assert "misread" in done.err
    other = weldcal.ok("seal --json").json["code"]
    forge.rewrite(weldcal.book, lambda s: None if s["payload"].get("code") == other else s)
    weldcal("verify --rebuild")
    done = weldcal("verify", "--json", "--seal", other)
    assert done.code == 1
    assert done.json["faults"][0]["found"] == "none in this book"


@pytest.mark.parametrize("nothing", ["", " ", "-"])
def test_an_empty_code_confirms_nothing(sealed: tuple[Any, str], nothing: str) -> None:
    """A script's empty variable must not read as a confirmed seal."""
    assert sealed[0]("verify", f"--seal={nothing}").code == 2


def test_a_seal_covers_every_device_and_lists_the_last_of_each(job: Any, tmp_path: Path) -> None:
    """A merged device's entry rewritten later shows as well."""
    one = forge.sealed(forge.envelope())
    job.ok("merge", str(forge.pack(tmp_path / "f.pack", [one])))
    made = job.ok("seal --json").json
    assert forge.DEVICE in made["heads"]
    forge.rewrite(
        job.book, lambda s: {**s, "payload": {"a": 1}} if s["device"] == forge.DEVICE else s
    )
    assert job("verify", "--seal", made["code"]).code == 1


def test_a_seal_says_how_many_entries_there_are(job: Any) -> None:
    """The number on the paper is the number in the book, before the seal's own."""
    before = len(job.entries())
    assert job.ok("seal --json").json["entries"] == before


def test_to_whom_a_seal_went_and_when_is_kept(sealed: tuple[Any, str]) -> None:
    """Handed to two people, both are listed; the list names nobody before."""
    weldcal, _code = sealed
    assert "nobody yet" in weldcal.ok("seal --list").out
    weldcal.ok('hand L1 --to "owner\'s representative J. Vale" --how photo')
    weldcal.ok('hand L1 --to "sheet maker" --at "2026-05-31 10:00"')
    (row,) = weldcal.ok("seal --list --json").json
    assert [(h["to"], h["how"], h["seen_local"][:16]) for h in row["handed"]] == [
        ("owner's representative J. Vale", "photo", "2026-06-01T07:00"),
        ("sheet maker", "paper", "2026-05-31T10:00"),
    ]
    assert weldcal("hand S1 --to X").code == 2
    assert weldcal("hand L1").code == 2


def test_a_signature_holds_and_a_changed_one_fails(go_ahead: Any, tmp_path: Path) -> None:
    """Ed25519 by the cryptography package; one bit of the signature turned, hashes recomputed."""
    key = tmp_path / "key.pem"
    public = go_ahead.ok("key", str(key), "--json").json["public_key"]
    made = go_ahead.ok("seal", "--sign", str(key), "--json").json
    assert made["key"] == public
    go_ahead.ok("verify", "--seal", made["code"])

    def turned(says: Says) -> Says:
        if says["kind"] != "seal":
            return says
        other = f"{int(made['signature'][0], 16) ^ 1:x}{made['signature'][1:]}"
        return {**says, "payload": {**says["payload"], "signature": other}}

    forge.rewrite(go_ahead.book, turned)
    go_ahead("verify --rebuild")
    done = go_ahead("verify", "--json", "--seal", made["code"])
    assert done.code == 1
    assert "signature" in [fault["what"] for fault in done.json["faults"]]


def test_a_signature_is_checked_by_plain_cryptography(go_ahead: Any, tmp_path: Path) -> None:
    """The key file is an ordinary PKCS 8 PEM; another tool confirms its public half."""
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    key = tmp_path / "key.pem"
    public = go_ahead.ok("key", str(key), "--json").json["public_key"]
    assert (
        load_pem_private_key(key.read_bytes(), None).public_key().public_bytes_raw().hex() == public
    )


def test_the_key_stays_outside_the_book(go_ahead: Any, tmp_path: Path) -> None:
    """Readable by its owner only, never overwritten, none of it in the book."""
    key = tmp_path / "key.pem"
    go_ahead.ok("key", str(key))
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert go_ahead("key", str(key)).code == 2
    go_ahead.ok("seal", "--sign", str(key))
    secret = key.read_bytes().splitlines()[1]
    for file in go_ahead.book.parent.glob(go_ahead.book.name + "*"):
        assert secret not in file.read_bytes()


@pytest.mark.parametrize("what", ["missing", "folder", "text"])
def test_a_key_that_is_none_is_refused_and_nothing_is_sealed(
    go_ahead: Any, tmp_path: Path, what: str
) -> None:
    """One sentence, exit code 2."""
    file = tmp_path / "k"
    {"missing": lambda: None, "folder": file.mkdir, "text": lambda: file.write_text("hello")}[
        what
    ]()
    before = go_ahead.entries()
    assert go_ahead("seal", "--sign", str(file)).code == 2
    assert go_ahead.entries() == before


def test_the_paper_can_be_copied_by_hand(go_ahead: Any) -> None:
    """Forty columns, the code in groups of four, and what it promises."""
    page = go_ahead.ok("seal").out
    assert max(map(len, page.splitlines())) <= 40
    assert "any change made after it left" in " ".join(page.split())


def test_a_seal_is_told_with_what_came_after_it(sealed: tuple[Any, str]) -> None:
    """Sealed, then corrected and taken back: the record holds, and says what is no longer so."""
    weldcal, code = sealed
    weldcal.ok("amend S1 speed 6 --why misread")
    said = " ".join(weldcal.ok("verify", "--seal", code).out.split())
    assert "Not signed" in said
    assert (
        "Recorded since: 2 entries; of what was sealed, corrected or taken back since: 1." in said
    )


# What a forger does with any SQLite tool to the tables that people read.
TABLES = {
    "a finding taken out": "DELETE FROM findings WHERE name = 'F1'",
    "a walk made longer": "UPDATE walks SET end_m = 10 WHERE name = 'W1'",
    "a strip made good": "UPDATE strips SET bubbling = 'none', bond = 'good'",
}


@pytest.mark.parametrize("change", TABLES)
def test_a_changed_table_is_told_on_page_1_and_when_sealing(
    welded_whole: Any, tmp_path: Path, change: str
) -> None:
    """The tables are derived anew for the dossier, and held against the entries."""
    book = welded_whole
    book.ok("strip record --nozzle 932 --speed 4 --bleed 1/2,1/2,1/2 --bubbling heavy")
    book.ok('probe A1 0-20 --void "14.5+3in x 1/2in" --by BO')
    held = "Hashes, links, seals, tables and photos"
    assert "all hold" in page_1(book, tmp_path / "before", held)
    forge.spoil(book.book, TABLES[change])
    assert "fault" in page_1(book, tmp_path / "after", held)
    done = book("seal --json")
    assert done.code == 1
    assert "weldcal verify" in done.err


def page_1(book: Any, folder: Path, row: str) -> str:
    """What a row of page 1 of the dossier says."""
    book.ok("dossier", str(folder), "--only", "html")
    text = re.sub(r"<[^>]+>", " ", folder.with_suffix(".html").read_text(encoding="utf-8"))
    return " ".join(text.split()).partition(row)[2][:80]
