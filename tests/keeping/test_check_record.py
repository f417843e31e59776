"""The checker that stands alone, function by function: what it takes, what it names, in which words.

The records are made by the published form alone (`forge`), so it is not asked of itself.
"""

from __future__ import annotations

import contextlib
import gzip
import hashlib
import json
import runpy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.log.made import JOB, A, B, Made
from weldcal.checker import check_record
from weldcal.log import pack, seal
from weldcal.records.codec import decode

Says = dict[str, Any]
Told = Callable[..., tuple[int, list[str]]]
HOLDS = "Every hash, link, count, photo and seal holds."
BREAKS = "DOES NOT HOLD."
UNTYPED = "No seal code was typed: whoever owns the device could have made all of it anew."


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Told:
    """The exit code and the lines that words typed give, in English."""
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(name, raising=False)

    def run(*words: object) -> tuple[int, list[str]]:
        status = check_record.main([str(word) for word in words])
        return status, capsys.readouterr().out.splitlines()

    return run


def _seal(made: Made, called: str, device: str, seq: int, after: str, **more: Any) -> str:
    """A seal over the two heads of `made`; its code."""
    heads = [made.entries[one] for one in ("a2", "b1")]
    paper: Says = {
        "name": "L1",
        "label": "day 1",
        "seen": {"at": "2026-06-01T16:00:00-06:00", "by": "Ana Ruiz"},
        "entries": 3,
        "heads": [{"device": h.device, "seq": h.seq, "hash": h.hash} for h in heads],
        "counts": {"note": 3},
        **more,
    }
    code = seal.code(seal.statement(JOB, decode("seal", {**paper, "code": ""})))
    paper = {"code": code, **paper}
    made.add(called, device, seq, after, kind="seal", payload=paper)
    return code


@pytest.fixture
def made() -> Made:
    """Two entries of A, one of B, a seal of them, and what came after it."""
    made = Made()
    made.add("a1", A, 1)
    made.add("a2", A, 2, "a1")
    made.add("b1", B, 1)
    _seal(made, "seal", A, 3, "a2")
    amended = forge.uuid(1)
    made.add("amended", A, 4, "seal", kind="amend", about=amended, payload={"to": 1})
    made.add("noted", A, 5, "amended", about=amended)  # of what was sealed, and no correction
    made.add("later", B, 2, "b1")
    made.add("of later", B, 3, "later", kind="amend", about=forge.uuid(7), payload={"to": 1})
    return made


def _file(tmp_path: Path, made: Made, *photos: bytes, without: tuple[str, ...] = ()) -> Path:
    kept = [(e.body, e.hash) for name, e in made.entries.items() if name not in without]
    return forge.pack(tmp_path / "r.weldpack", kept, photos)


def _code(made: Made) -> str:
    return str(made.entries["seal"].payload["code"])


def test_a_record_that_holds_says_what_it_holds(tmp_path: Path, made: Made, told: Told) -> None:
    """Without a code its end; with one what it seals, and what came since: of two corrections one."""
    file = _file(tmp_path, made)
    ends = (
        f"8 entries; the record ends at: {A} 5 (2026-06-01T07:06:00-06:00), "
        f"{B} 3 (2026-06-01T07:08:00-06:00)"
    )
    assert told(file) == (0, [ends, HOLDS, UNTYPED])
    shown = [
        "Seal L1, day 1, made 2026-06-01T16:00:00-06:00 by Ana Ruiz",
        f"It seals 3 entries; last of each device: {A} 2, {B} 1.",
        "Not signed.",
        "Recorded since: 4; of what was sealed, corrected or taken back: 1.",
        ends,
        HOLDS,
    ]
    code = _code(made)
    for typed in (code, code.replace("-", " ").lower(), code.replace("0", "O").replace("1", "l")):
        assert told(file, typed) == (0, shown)
    other = "Z" + code[1:] if code[0] != "Z" else "Y" + code[1:]
    wrong = "WRONG: no seal with this code: a misread code, or not the record that was sealed"
    assert told(file, other) == (1, [wrong, ends, BREAKS])


@pytest.mark.parametrize(
    ("without", "wrong"),
    [
        (("a1",), [f"device {A}: entries before 2 are missing"]),
        (("b1",), [f"device {B}: entries before 2 are missing"]),
        (("amended",), [f"device {A}: entries before 5 are missing"]),
        (("of later", "later"), []),
    ],
)
def test_a_gap_is_named(
    tmp_path: Path, made: Made, told: Told, without: tuple[str, ...], wrong: list[str]
) -> None:
    """Before which entry of which device, once; an end cut off is not seen by links alone."""
    status, lines = told(_file(tmp_path, made, without=without))
    assert [line for line in lines if "missing" in line] == [f"WRONG: {one}" for one in wrong]
    assert status == bool(wrong)


def test_what_a_seal_seals_must_be_there(tmp_path: Path, made: Made, told: Told) -> None:
    """A head that is gone, and how many there should be; where only the first is gone, the count."""
    status, lines = told(_file(tmp_path, made, without=("b1", "later", "of later")))
    assert status == 1
    assert lines[:2] == [
        f"WRONG: seal L1: entry 1 of device {B}, which it seals, is gone",
        "WRONG: seal L1: it seals 3 entries; not all of them are here",
    ]
    _status, lines = told(_file(tmp_path, made, without=("a1",)))
    assert "WRONG: seal L1: it seals 3 entries; not all of them are here" in lines
    assert not any("is gone" in line for line in lines)


@pytest.mark.parametrize("what", ["label", "name", "entries", "counts", "seen"])
def test_the_code_of_a_seal_is_of_all_that_stands_on_it(
    tmp_path: Path, made: Made, told: Told, what: str
) -> None:
    """One thing changed and hashed anew: the code is another's."""
    paper = made.entries["seal"].payload
    change: Says = {
        "label": "day 2",
        "name": "L2",
        "entries": 2,
        "counts": {"note": 2},
        "seen": {"at": "2026-06-01T16:00:00-06:00", "by": "Ana Luz"},
    }
    made.add("forged", A, 4, "seal", kind="seal", payload={**paper, what: change[what]})
    name = "L2" if what == "name" else "L1"
    _status, lines = told(_file(tmp_path, made, without=("amended", "noted")))
    wrong = [f"WRONG: seal {name}: its code is not that of what it says"]
    if what == "entries":
        wrong.append("WRONG: seal L1: it seals 2 entries; not all of them are here")
    assert [line for line in lines if line.startswith("WRONG: seal")] == wrong


@pytest.mark.parametrize(("tick", "back"), [(1, True), (2, True), (3, False)])
def test_a_count_rises_within_a_device(tmp_path: Path, told: Told, tick: int, back: bool) -> None:
    """After one of 2."""
    made = Made()
    made.add("a1", A, 1, tick=2)
    made.add("a2", A, 2, "a1", tick=tick)
    status, lines = told(_file(tmp_path, made))
    wrong = f"WRONG: device {A}: the count of entry 2 goes back: backdated"
    assert (status, wrong in lines) == (back, back)


@pytest.mark.parametrize("tick", [0, 1])
def test_the_first_count_is_one_or_more(tmp_path: Path, told: Told, tick: int) -> None:
    """Nothing is before the first."""
    made = Made()
    made.add("a1", A, 1, tick=tick)
    assert told(_file(tmp_path, made))[0] == 1 - tick


def test_an_entry_follows_the_one_before_it(tmp_path: Path, made: Made, told: Told) -> None:
    """The first follows nothing; the second not the other device's."""
    made.add("c1", "5742a9000003", 1, "a1")
    made.add("d1", "5742a9000004", 1)
    made.add("d2", "5742a9000004", 2, "c1")
    status, lines = told(_file(tmp_path, made))
    assert status == 1
    assert lines[:2] == [
        "WRONG: device 5742a9000003: entry 1 does not follow from the one before it",
        "WRONG: device 5742a9000004: entry 2 does not follow from the one before it",
    ]
    assert lines[3:] == [BREAKS, UNTYPED]


@pytest.mark.parametrize(
    ("device", "seq", "named", "settles"),
    [
        (B, 2, ["later", "later'"], True),
        (B, 2, ["later", "later'", "a1"], True),
        (B, 2, ["later"], False),
        (B, 3, ["later", "later'"], False),
        (A, 2, ["later", "later'"], False),
    ],
)
def test_a_fork_is_told_until_all_of_it_is_settled(
    tmp_path: Path, made: Made, told: Told, device: str, seq: int, named: list[str], settles: bool
) -> None:
    """Its place and all its branches; another place's does not count. The ends are both told of."""
    made.add("later'", B, 2, "b1")
    fork = f"WRONG: device {B}: two entries 2: a fork that nobody settled"
    _status, lines = told(_file(tmp_path, made))
    assert [line for line in lines if line.startswith("WRONG")] == [fork]
    hashes = [made.entries[one].hash for one in named]
    payload = {"device": device, "seq": seq, "hashes": hashes, "done": "two copies"}
    made.add("settled", A, 6, "noted", kind="fork-settled", payload=payload)
    status, lines = told(_file(tmp_path, made))
    assert (status, fork in lines) == (not settles, not settles)


def test_two_entries_of_one_id_are_told_once(tmp_path: Path, made: Made, told: Told) -> None:
    """Three of them, and others of one each."""
    for n in (3, 4):
        made.add(f"copy {n}", f"5742a900000{n}", 1, id=forge.uuid(1))
    status, lines = told(_file(tmp_path, made))
    twice = [line for line in lines if "have the id" in line]
    assert status == 1
    assert twice == [f"WRONG: two entries have the id {forge.uuid(1)}: one is a changed copy"]


def test_a_photo_is_what_it_was_and_is_there(tmp_path: Path, made: Made, told: Told) -> None:
    """Named by twelve signs of its hash; changed, it is both told and counted as there."""
    name = hashlib.sha256(forge.PHOTO).hexdigest()
    made.add("shot", A, 6, "noted", payload={"photos": [{"sha256": name}]})
    assert told(_file(tmp_path, made, forge.PHOTO))[0] == 0
    status, lines = told(_file(tmp_path, made))
    gone = f"WRONG: photo {name[:12]} of entry {made.entries['shot'].id} is not in the file"
    assert (status, lines[0]) == (1, gone)
    lines_now = forge.lines_of(_file(tmp_path, made, forge.PHOTO))
    odd = {**json.loads(lines_now[-1]), "data": "YWJj"}
    forge.pack_lines(tmp_path / "odd", [*lines_now[:-1], json.dumps(odd).encode()])
    status, lines = told(tmp_path / "odd")
    assert (status, lines[0]) == (1, f"WRONG: photo {name[:12]} is not what it was")
    assert len(lines) == 4


def test_a_changed_entry_is_named_by_its_line(tmp_path: Path, made: Made, told: Told) -> None:
    """Its hash does not fit; or it does, and the text is not in its one form."""
    lines = [json.loads(line) for line in forge.lines_of(_file(tmp_path, made))]
    lines[-1]["body"] = lines[-1]["body"].replace('"to":1', '"to":2')
    loose = json.dumps(json.loads(lines[-2]["body"]))
    lines[-2] |= {"body": loose, "hash": hashlib.sha256(loose.encode()).hexdigest()}
    forge.pack_lines(tmp_path / "x", [json.dumps(line).encode() for line in lines])
    status, said = told(tmp_path / "x")
    assert status == 1
    assert said[:2] == [
        f"WRONG: line 8: entry {forge.uuid(7)} is not in canonical form",
        f"WRONG: line 9: entry {forge.uuid(8)} was changed: its hash does not fit",
    ]
    assert said[2].startswith("6 entries;")


@pytest.mark.parametrize("change", ["a line less", "a line after its end", "no end", "half"])
def test_a_file_that_was_cut_or_added_to(
    tmp_path: Path, made: Made, told: Told, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    """All that is left of it may be as it was made; its last line tells. It is read as far as a
    pack may reach."""
    file = _file(tmp_path, made)
    assert pack.LARGEST_TEXT == check_record.MOST_BYTES
    lines = gzip.decompress(file.read_bytes()).splitlines(keepends=True)
    if change == "half":
        monkeypatch.setattr(check_record, "MOST_BYTES", sum(map(len, lines[:-1])))
    changed = {
        "a line less": lines[:-2] + lines[-1:],
        "a line after its end": [*lines, b"{}\n"],
        "no end": lines[:-1],
        "half": lines,
    }
    file.write_bytes(gzip.compress(b"".join(changed[change])))
    status, said = told(file)
    cut = "WRONG: the file is cut or altered: its last line does not match the rest"
    assert (status, said[0]) == (1, cut)


def test_what_cannot_be_read_is_one_sentence(tmp_path: Path, told: Told) -> None:
    """No file, nothing in it, no entry in it."""
    empty = tmp_path / "empty"
    empty.write_bytes(gzip.compress(b""))
    assert told(empty) == (2, ["This is no record that can be read: nothing in it"])
    odd = tmp_path / "odd"
    odd.write_bytes(gzip.compress(b'{"line": "entry", "body": "\\u001b"}\n'))
    for file in (tmp_path / "gone", odd):
        status, (line,) = told(file)
        assert status == 2
        assert line.startswith("This is no record that can be read: ")


def test_what_a_terminal_obeys_is_shown_as_its_number(tmp_path: Path, told: Told) -> None:
    """A label that would clear the screen; letters of any script stay."""
    made = Made()
    made.add("a2", A, 1)
    made.add("b1", B, 1)
    code = _seal(made, "seal", A, 2, "a2", label="día\x1b[2J\u202e", entries=2)
    status, lines = told(_file(tmp_path, made), code)
    assert status == 0
    assert lines[0].startswith("Seal L1, día<U+001B>[2J<U+202E>, made")


@pytest.mark.parametrize(
    ("words", "usage"),
    [
        ([], True),
        (["FILE"], False),
        (["FILE", "CODE"], False),
        (["FILE", "CODE", "more"], True),
        (["FILE", "--key", "KEY"], True),
        (["FILE", "CODE", "--key", "KEY"], False),
        (["--key", "KEY", "FILE", "CODE"], False),
        (["FILE", "--key", "KEY", "CODE"], False),
        (["FILE", "CODE", "--key"], True),
        (["--es", "FILE", "CODE"], False),
        (["FILE", "-h"], True),
        (["--help"], True),
    ],
)
def test_how_it_is_asked(
    tmp_path: Path, made: Made, told: Told, words: list[str], usage: bool
) -> None:
    """A file, a code, a key that needs a code; else it says how it is used, with exit 2."""
    known = {"FILE": str(_file(tmp_path, made)), "CODE": _code(made), "KEY": "00" * 32}
    status, lines = told(*(known.get(word, word) for word in words))
    if usage:
        assert (status, lines[0]) == (2, (check_record.__doc__ or "").splitlines()[0])
        return
    assert status == ("KEY" in words)
    key_told = "WRONG: the seal is not signed with the key on the paper" in lines
    assert key_told is ("KEY" in words)
    assert (lines[-1] == HOLDS) is ("CODE" in words and "KEY" not in words and "--es" not in words)


def test_a_signed_seal(tmp_path: Path, told: Told) -> None:
    """Its key in any case, folded as on paper; another's; a signature that is not of it."""
    signing = pytest.importorskip("weldcal.log.signing")
    pytest.importorskip("cryptography")
    key = tmp_path / "k.pem"
    signing.new_key(key)
    made = Made()
    made.add("a1", A, 1)
    made.add("a2", A, 2, "a1")
    made.add("b1", B, 1)
    _seal(made, "plain", A, 3, "a2")
    said = seal.statement(JOB, decode("seal", made.entries["plain"].payload))
    public, signature = signing.sign(key, said)
    made = Made()
    made.add("a1", A, 1)
    made.add("a2", A, 2, "a1")
    made.add("b1", B, 1)
    code = _seal(made, "seal", A, 3, "a2", key=public, signature=signature)
    file = _file(tmp_path, made)
    folded = f"{public[:32].upper()} {public[32:]}"
    for words in ([code], [code, "--key", public], [code, "--key", folded]):
        status, lines = told(file, *words)
        assert status == 0, lines
        assert lines[2] == f"Signed with key {public}"
    status, lines = told(file, code, "--key", "00" * 32)
    assert (status, lines[4]) == (1, "WRONG: the seal is not signed with the key on the paper")
    forged = _seal(made, "forged", B, 2, "b1", name="L2", key=public, signature=signature)
    status, lines = told(_file(tmp_path, made), forged)
    assert (status, lines[4]) == (1, "WRONG: seal L2: its signature is not of this seal")


def test_the_file_itself_is_a_program(
    tmp_path: Path, made: Made, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Run, it takes what was typed after its name, and ends with the exit code."""
    file = check_record.__file__
    record = _file(tmp_path, made)
    for words, code in (([str(record), _code(made)], 0), ([str(tmp_path)], 2)):
        monkeypatch.setattr("sys.argv", [file, *words])
        with pytest.raises(SystemExit) as ended:
            runpy.run_path(file, run_name="__main__")
        assert ended.value.code == code
    assert HOLDS in capsys.readouterr().out
    with contextlib.redirect_stdout(None):
        runpy.run_path(file, run_name="only_read")
