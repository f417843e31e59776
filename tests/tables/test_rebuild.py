"""The tables follow from the entries: whatever was done in whatever order, a rebuild gives the same."""

from __future__ import annotations

import contextlib
import json
import shlex
import shutil
import sqlite3
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.keeping.tables import contents
from weldcal.book import Book
from weldcal.cli.main import main
from weldcal.log import chain

START = datetime(2026, 6, 1, 13, 0, tzinfo=UTC)
SEAMS = st.sampled_from(["A1", "A2", "Ñ7", "[b]x[/b]"])
PEOPLE = st.sampled_from(["Ana Ruiz", "BO", "Zed"])
FEET = st.integers(0, 40).map(str)

STRIPS = st.builds(
    "strip record --nozzle {} --speed {} --bleed {} --bubbling {}".format,
    st.sampled_from(["932", "500C", "900F"]),
    st.sampled_from(["5.5", "1.7m/min", "6"]),
    st.sampled_from(["1/4,3/16,5/16", "6mm,7mm", "0", "1/16,1/8,5/8"]),
    st.sampled_from(["none", "trace", "heavy"]),
)
NUMBER = st.integers(1, 4)
COMMANDS = st.one_of(
    STRIPS,
    st.builds("strip pull S{} {}".format, NUMBER, st.sampled_from(["good", "cold"])),
    st.builds(
        "conditions --ambient {}F --sheet-temp {}".format,
        st.integers(30, 110),
        st.integers(40, 160),
    ),
    st.builds("seam start {} --from {} --nozzle 932 --speed 5.5".format, SEAMS, FEET),
    st.builds("seam start {} --by-hand".format, SEAMS),
    st.builds("seam finish {} --to {}".format, SEAMS, FEET),
    st.builds("bleed {} {} 3/16,1/4".format, SEAMS, FEET),
    st.builds("probe {} {}-{}".format, SEAMS, FEET, FEET),
    st.builds('probe {} 0-33 --void "{}+3in x 1/2in"'.format, SEAMS, FEET),
    st.builds("finding {} scorched {}-{}".format, SEAMS, FEET, FEET),
    st.builds("mend F{} --method patch --patch 8in".format, NUMBER),
    st.builds("peel {} {} --parted compound --load 40lbf --width 1in".format, SEAMS, FEET),
    st.builds("peel S{} --parted lap --line-load 20lbf/in".format, NUMBER),
    st.builds(
        "amend S{} {} --why slip".format,
        NUMBER,
        st.sampled_from(
            [
                "speed 6",
                "readings 1/4,1/4",
                "humidity 60",
                "bond cold",
                "bubbling trace",
                "lap granules",
                "damp yes",
                "by BO",
            ]
        ),
    ),
    st.builds(
        "amend R{} {} --why slip".format,
        NUMBER,
        st.sampled_from(["end 20", "start 2", "seam A2", "nozzle 900F"]),
    ),
    st.builds(
        "amend W{} {} --why slip".format, NUMBER, st.sampled_from(["start 1", "end 12", "seam A1"])
    ),
    st.builds(
        "amend F{} {} --why slip".format,
        NUMBER,
        st.sampled_from(["kind cold", "end 9", "depth 2in"]),
    ),
    st.builds("amend A1 length {} --why slip".format, FEET),
    st.builds("settle R{} looked-at".format, NUMBER),
    st.builds(
        "undo {} --yes".format,
        st.builds("{}{}".format, st.sampled_from("SRBWFMP"), NUMBER)
        | st.sampled_from(["A1", "", ""]),
    ),
    st.builds(
        "undo {} --back --yes".format,
        st.builds("{}{}".format, st.sampled_from("SRBWFMP"), NUMBER)
        | st.sampled_from(["A1", "", ""]),
    ),
    st.builds(
        "limit set {} --source sheet-4".format,
        st.sampled_from(
            ["bleed_low 1/16in", "readings_least 1", "trace_passes 1", "strip_hours_passed 2"]
        ),
    ),
    st.builds("seam add {} --length 33ft".format, SEAMS),
)
# Minutes the clock moves (it may go back), and how late the thing is said to have been seen.
STEPS = st.lists(
    st.tuples(
        COMMANDS,
        st.integers(-90, 600),
        st.sampled_from(["", "06:00", "yesterday 16:00", "23:30"]),
        PEOPLE,
    ),
    min_size=1,
    max_size=14,
)


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with one job."""
    path = tmp_path_factory.mktemp("tables") / "book.sqlite"
    book = Book(path, by="Ana Ruiz", clock=lambda: START)
    book.recording.setup.new_job("School", units="us", zone_name="America/Denver", day_begins=4)
    book.close()
    for line in (
        ["sheet", "add", "base: x"],
        ["machine", "add", "blue: ft/min 1-20"],
        ["person", "add", "Ben Okoro: BO"],
    ):
        assert main(["--book", str(path), *line]) == 0
    return path


def count(path: Path) -> int:
    """How many entries."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("SELECT count(*) FROM entries").fetchone()[0])


@settings(max_examples=25)
@given(steps=STEPS)
def test_any_sequence_of_commands_leaves_tables_equal_to_a_rebuild(
    school: Path, steps: list[tuple[str, int, str, str]]
) -> None:
    """Done or refused, early or late, by the clock or against it: verify finds nothing, and a rebuild changes nothing."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.sqlite"
        shutil.copyfile(school, path)
        now = START
        for words, minutes, at, by in steps:
            now += timedelta(minutes=minutes)
            before = count(path)
            timed = not words.startswith(("settle", "limit", "seam add", "undo"))
            line = [*shlex.split(words), *(["--at", at] if at and timed else []), "--by", by]
            code = main(["--book", str(path), *line], clock=lambda now=now: now)
            assert code in (0, 2)
            assert (count(path) > before) is (code == 0)
        book = Book(path)
        assert book.sealing.verify()[1] == []
        kept = contents(path)
        assert book.recording.backups.rebuild() == count(path)
        book.close()
        assert contents(path) == kept


def test_a_row_changed_by_hand_is_found_and_a_rebuild_mends_it(go_ahead: Any) -> None:
    """The tables are no evidence: verify compares them with the entries."""
    with contextlib.closing(sqlite3.connect(go_ahead.book)) as connection, connection:
        connection.execute("UPDATE strips SET bond = 'cold'")
    bad = go_ahead("verify --json")
    assert bad.code == 1
    (fault,) = bad.json["faults"]
    assert fault["what"] == "table strips"
    assert json.loads(fault["expected"]) == {"bond": "good"}
    assert json.loads(fault["found"]) == {"bond": "cold"}
    go_ahead.ok("verify --rebuild")
    go_ahead.ok("verify")


@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM strips",
        "INSERT INTO strips (id, name) VALUES ('x', 'S9')",
        "UPDATE readings SET width_mm = 9 WHERE n = 2",
    ],
)
def test_a_row_too_few_too_many_or_changed_is_found(go_ahead: Any, sql: str) -> None:
    """Exit code 1, whichever it is."""
    with contextlib.closing(sqlite3.connect(go_ahead.book)) as connection, connection:
        connection.execute(sql)
    assert go_ahead("verify").code == 1


def test_tables_hold_si_floats_and_entries_what_was_typed(job: Any) -> None:
    """1/4 in stays "1/4" in the entry; the table has 6.35 mm."""
    job.ok("strip record --nozzle 932F --speed 5.5 --bleed 1/4in,6mm --bubbling none")
    setting = job.entries()[-1]["payload"]["setting"]
    assert setting["nozzle"] == {"text": "932F", "number": "932", "unit": "F"}
    assert setting["speed"] == {"text": "5.5", "number": "11/2", "unit": "ft/min"}
    (row,) = job.query("SELECT nozzle_c, speed_m_per_min, width_max_mm FROM strips")
    assert tuple(row) == (500.0, 1.6764, 6.35)


@pytest.fixture
def forged(go_ahead: Any) -> Any:
    """Put an entry in whose hash and links are right, whatever its payload says."""

    def put(kind: str, payload: dict[str, Any], about: str | None = None) -> Any:
        with contextlib.closing(sqlite3.connect(go_ahead.book)) as connection, connection:
            device, job = connection.execute("SELECT device, job FROM strips").fetchone()
            draft = chain.NewEntry(kind, payload, job, about)
            chain.append(connection, device, "2026-06-01T09:00:00.000-06:00", "X", [draft])
        return go_ahead

    return put


SEEN = {"at": "2026-06-01T07:00:00-06:00", "by": "X"}


@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        ("strip", {}),
        ("conditions", {"seen": {"at": "noon", "by": "X"}, "conditions": {}}),
        ("conditions", {"seen": {"at": "0001-01-01T00:00:00+14:00", "by": "X"}, "conditions": {}}),
        (
            "conditions",
            {"seen": SEEN, "conditions": {"ambient": {"text": "6", "number": "6", "unit": "in"}}},
        ),
        (
            "conditions",
            {"seen": SEEN, "conditions": {"ambient": {"text": "6", "number": "1/0", "unit": "C"}}},
        ),
        (
            "conditions",
            {
                "seen": SEEN,
                "conditions": {"ambient": {"text": "6", "number": "1e400", "unit": "C"}},
            },
        ),
    ],
)
def test_an_entry_nobody_could_have_recorded_is_named_not_stumbled_over(
    forged: Any, kind: str, payload: dict[str, Any]
) -> None:
    """Its chain is whole, its payload is no record: verify names it and goes on, exit code 1."""
    done = forged(kind, payload)("verify --json")
    assert (done.code, done.err) == (1, "")
    assert "payload" in [fault["what"] for fault in done.json["faults"]]


def test_a_kind_of_a_newer_program_is_kept_and_harms_nothing(go_ahead: Any, forged: Any) -> None:
    """Entries come from other devices: what is not understood yet is no fault."""
    before = contents(go_ahead.book)
    forged("telepathy", {"seen": SEEN}).ok("verify")
    assert contents(go_ahead.book) == before


@pytest.mark.parametrize(
    "change",
    [
        {"path": "name.first", "new": "x"},
        {"path": "seen", "new": 5},
        {"path": "readings.x", "new": 1},
        {},
    ],
)
def test_a_correction_that_cannot_be_is_named_not_stumbled_over(
    go_ahead: Any, forged: Any, change: dict[str, Any]
) -> None:
    """The same for an amend aimed where nothing can stand."""
    (strip,) = go_ahead.query("SELECT id FROM strips")
    payload = {"of": strip["id"], "old": "x", "why": "x", "seen": SEEN, "replaces": "x", **change}
    done = forged("amend", payload, about=strip["id"])("verify --json")
    assert (done.code, done.err) == (1, "")
    assert "payload" in [fault["what"] for fault in done.json["faults"]]
