"""Rows of what the record keeps of its own: advice, cover-ups, seals and who got them; and exports."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections import Counter
from pathlib import Path

import pytest

from tests.conftest import Weldcal
from weldcal.tables import exports
from weldcal.tables.schema import TABLES

UTC = "2026-06-01T{}:00+00:00"


@pytest.fixture
def day(go_ahead: Weldcal) -> Weldcal:
    """Welded, covered in part, sealed and handed over; asked for advice once."""
    go_ahead.day("""
        07:30 seam start A1 --nozzle 932 --speed 5.5
        07:50 seam finish A1 --to 33
        07:55 dial --ambient 50F --by "Ben Okoro"
        08:00 cover A --stretch 0-30
        08:30 seal --label "South"
        10:10 hand L1 --to "the owner" --how email --at 08:30
    """)
    return go_ahead


def test_advice_is_kept_as_it_was_asked_and_given(day: Weldcal) -> None:
    """By whom and when; the question's words as typed, in SI: 50 F are 10 C, 932 F 500 C."""
    (row,) = day.query("SELECT * FROM advice")
    assert (row["seen_utc"], row["seen_by"]) == (UTC.format("13:55"), "Ben Okoro")
    question = json.loads(row["question"])
    assert (question["ambient_c"], question["nozzle_c"]) == ("10.0", "500.0")
    assert (question["machine"], question["sheet"]) == ("blue", "base")
    (entry,) = (entry for entry in day.entries() if entry["kind"] == "advice")
    assert question == entry["payload"]["question"]
    assert json.loads(row["answer"]) == entry["payload"]["answer"]
    assert row["version"] == entry["payload"]["version"]


def test_a_cover_up_says_what_it_hides_and_what_was_not_probed(day: Weldcal) -> None:
    """30 ft are 9.144 m, of each of the three seams; none of them was probed."""
    (row,) = day.query("SELECT * FROM covers")
    assert (row["area"], row["seams"]) == ("A", "[]")
    assert json.loads(row["stretches"]) == [[f"a{n}", 0.0, pytest.approx(9.144)] for n in (1, 2, 3)]
    assert json.loads(row["unprobed"]) == ["a1", "a2", "a3"]


def test_a_seal_says_what_it_seals(day: Weldcal) -> None:
    """How many entries by kind, and the last of each device, as the entries themselves have it."""
    (row,) = day.query("SELECT * FROM seals")
    before = [e for e in day.entries() if e["tick"] < row["tick"]]
    assert row["label"] == "South"
    assert row["entries"] == len(before)
    counts = Counter(entry["kind"] for entry in before)
    said = json.loads(row["counts"])
    assert said == {kind: counts[kind] for kind in said}
    assert set(counts) - set(said) <= {"job"}
    last = {entry["device"]: entry["seq"] for entry in before}
    assert [[device, seq] for device, seq, _hash in json.loads(row["heads"])] == [
        [device, last[device]] for device in sorted(last)
    ]
    assert (row["key"], row["signature"]) == (None, None)


def test_who_got_a_seal_is_a_row_of_its_own(day: Weldcal) -> None:
    """To whom, how, and that it was entered 100 minutes after."""
    (seal,) = day.query("SELECT id FROM seals")
    (row,) = day.query("SELECT * FROM handed")
    found = {c: row[c] for c in ("of", "to", "how", "seen_utc", "late_h", "entered_by")}
    assert found == {
        "of": seal["id"],
        "to": "the owner",
        "how": "email",
        "seen_utc": UTC.format("14:30"),
        "late_h": 1.667,
        "entered_by": "Ana Ruiz",
    }


def test_a_second_pull_and_a_second_finish_are_marked_and_the_first_hold(
    job: Weldcal, tmp_path: Path
) -> None:
    """Two laptops that did not know of each other; with one of each nothing is marked."""
    job.day("""
        07:00 strip record --nozzle 932 --speed 5.5 --bleed 1/4 --bubbling none
        07:10 seam start A1 --nozzle 932 --speed 5.5
    """)
    job.ok("pack", str(tmp_path / "one"))
    other = Weldcal(tmp_path / "other.sqlite", job.capsys, job.clock)
    other.ok("merge", str(tmp_path / "one"))
    job.day("""
        07:20 strip pull S1 good --parted compound
        07:30 seam finish A1 --to 33
    """)
    marks = "SELECT flags FROM strips UNION ALL SELECT flags FROM runs"
    assert [row["flags"] for row in job.query(marks)] == ["[]", "[]"]
    other.clock.set("07:40")
    for _more in range(3):  # later in the order of what was known, whatever the devices' ids
        other.ok('conditions --ambient 50F --by "Ben Okoro"')
    other.ok('strip pull S1 poor --parted lap --by "Ben Okoro"')
    other.ok('seam finish A1 --to 30 --by "Ben Okoro"')
    other.ok("pack", str(tmp_path / "two"))
    job.ok("merge", str(tmp_path / "two"))
    (strip,) = job.query("SELECT flags, bond, pulled_by FROM strips")
    (run,) = job.query("SELECT flags, end_m, finished_by FROM runs")
    assert json.loads(strip["flags"])[-1] == "pulled twice"
    assert json.loads(run["flags"])[-1] == "finished twice"
    assert (strip["bond"], strip["pulled_by"]) == ("good", "Ana Ruiz")
    assert (run["end_m"], run["finished_by"]) == (pytest.approx(10.0584), "Ana Ruiz")


# --- tables as files ---


def _read(book: Weldcal) -> sqlite3.Connection:
    connection = sqlite3.connect(book.book)
    connection.row_factory = sqlite3.Row
    return connection


@pytest.mark.parametrize("there", [True, False])
def test_an_export_broken_off_leaves_nothing(day: Weldcal, tmp_path: Path, there: bool) -> None:
    """Its folder goes as well, but not one that was there."""
    folder = tmp_path / "out"
    if there:
        folder.mkdir()
    with contextlib.closing(_read(day)) as book:
        writing = exports.write_all(book, folder, people=True)
        assert next(writing)[0] == next(iter(TABLES))
        with pytest.raises(KeyboardInterrupt):
            writing.throw(KeyboardInterrupt())  # type: ignore[attr-defined]
    assert folder.exists() is there
    assert not there or list(folder.iterdir()) == []


def test_an_export_makes_the_folders_it_needs(day: Weldcal, tmp_path: Path) -> None:
    """Each table by name, with how many rows it has; into a folder that is there as well."""
    with contextlib.closing(_read(day)) as book:
        for _twice in range(2):
            made = dict(exports.write_all(book, tmp_path / "a/b", people=True))
        assert made == {
            name: book.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in TABLES
        }
    for name, rows in made.items():
        lines = (tmp_path / f"a/b/{name}.jsonl").read_text(encoding="utf-8").splitlines()
        assert len(lines) == rows
        assert all(list(json.loads(line)) == list(TABLES[name]) for line in lines)


def test_without_people_a_corrected_name_is_left_out_and_a_corrected_lap_is_not(
    go_ahead: Weldcal, tmp_path: Path
) -> None:
    """What a correction of "by" said; what was taken back may hold a name anywhere."""
    go_ahead.day("""
        07:10 amend S1 by "Ben Okoro" --why "he made it"
        07:11 amend S1 lap granules --why "selvage was off"
        07:12 conditions --ambient 50F
        07:13 undo --yes
    """)
    with contextlib.closing(_read(go_ahead)) as book:
        made = dict(exports.write_all(book, tmp_path / "out", people=False))

    def rows(name: str) -> list[dict[str, object]]:
        text = (tmp_path / f"out/{name}.jsonl").read_text(encoding="utf-8")
        return [json.loads(line) for line in text.splitlines()]

    assert "people" not in made
    said = {str(row["path"]): (row["old"], row["new"]) for row in rows("amendments")}
    assert said["seen.by"] == (None, None)
    assert said["setting.lap"] == ('"selvage"', '"granules"')
    assert [row["said"] for row in rows("withdrawn")] == [None]
    assert not any("seen_by" in row or "entered_by" in row for row in rows("strips"))


def test_signs_of_any_language_stay_as_they_were_typed(go_ahead: Weldcal, tmp_path: Path) -> None:
    """In what was taken back, and in files: whoever searches for a word finds it."""
    go_ahead.day("""
        07:11 conditions --ambient 50F
        07:12 strip record --nozzle 932 --speed 5 --bleed 1/4 --bubbling none --note "piña"
        07:13 undo --yes
    """)
    (row,) = go_ahead.query("SELECT said FROM withdrawn")
    assert "piña" in row["said"]
    with contextlib.closing(_read(go_ahead)) as book:
        dict(exports.write_all(book, tmp_path / "out", people=True))
    assert "piña" in (tmp_path / "out/withdrawn.jsonl").read_text(encoding="utf-8")
