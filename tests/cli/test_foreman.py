"""The foreman: the roof, a seam traced, corrections, warnings answered, the record checked."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def roof(go_ahead: Any) -> Any:
    """A day on the roof: A1 welded, a void found, mended and probed again; A2 welded on nothing."""
    go_ahead.day("""
        07:30 seam start A1 --nozzle 932 --speed 5.5
        07:34 bleed A1 14 3/16,1/4
        07:37 seam finish A1 --to 33
        07:45 seam start A2 --nozzle 932 --speed 9
        07:50 seam finish A2 --to 33
        10:00 probe A1 0-33 --void "14.5+3in x 1/2in" --by BO
        10:30 mend F1 --method patch --patch 12in
        11:00 probe A1 13-17 --by BO
    """)
    return go_ahead


def test_the_roof_shows_every_seam_and_what_needs_a_person(roof: Any) -> None:
    """State in words, what is unprobed, warnings with the command that answers them."""
    shown = " ".join(roof.ok("roof").out.split())
    for text in (
        "A1",
        "probed with no open finding",
        "A2",
        "unprobed 0–33 ft",
        "A3",
        "not started",
        "Open warning",
        "weldcal settle R2",
    ):
        assert text in shown


def test_the_roof_says_what_is_to_do_on_each_seam(roof: Any) -> None:
    """Open, mended and unprobed, unprobed, and covered before it was probed: each in its words."""
    roof.day("""
        11:10 seam start A3 --nozzle 932 --speed 5.5
        11:17 seam finish A3 --to 33
        12:00 probe A3 0-20 --void 4+2in --void 8+2in --by BO
        12:10 mend F3 --method patch --patch 6in
    """)
    todo = {row[1]: row[5] for row in (line.split("\t") for line in rows(roof))}
    assert todo["A1"] == ""
    assert todo["A2"] == "unprobed 0–33 ft"
    assert todo["A3"] == "open: F2; probe again: F3 7 ft 6 in to 8 ft 8 in; unprobed 20–33 ft"
    roof.ok("cover A")
    todo = {row[1]: row[5] for row in (line.split("\t") for line in rows(roof))}
    assert todo["A2"] == "hidden unprobed 0–33 ft: open up"


def rows(roof: Any) -> list[str]:
    """The table's rows as a pipe gets them."""
    return [line for line in roof.ok("roof").out.splitlines() if line.count("\t") == 6][1:]


def test_a_trace_tells_a_seam_in_the_order_things_were_seen(roof: Any) -> None:
    """Strip, run, bleed check, walk, finding, mend, second walk."""
    events = roof.ok("trace A1 --json").json["events"]
    assert [event["what"] for event in events] == [
        "strip",
        "run",
        "bleed",
        "walk",
        "finding",
        "mend",
        "walk",
    ]
    assert [e["seen_utc"] for e in events] == sorted(e["seen_utc"] for e in events)
    page = " ".join(roof.ok("trace A1").out.split())
    for text in (
        "S1 go-ahead strip",
        "R1 run 0 ft to 33 ft",
        "5.5 ft/min",
        "B1 bleed check at 14 ft",
        "W1 probe walk",
        "F1 finding: void from 14 ft 6 in",
        "M1 mend",
        "patch",
        "Ana Ruiz",
        "Ben Okoro",
    ):
        assert text in page


def test_a_trace_tells_all_that_was_said(go_ahead: Any) -> None:
    """Notes, why a run ended, lost power, depth, times, patch, and a check outside the limits."""
    go_ahead.day("""
        07:30 seam start A1 --nozzle 932 --speed 5.5 --roll-lot L7
        07:33 bleed A1 3 9/16,1/4 --bubbling trace --note "smoked here"
        07:34 seam finish A1 --to 14 --why "cord slipped out" --power-lost
        10:00 probe A1 0-14 --started 09:50 --void "4.5+3in x 1/2in" --note "lap still warm"
        10:30 mend F1 --method patch --patch 12in --note "primed first"
    """)
    page = " ".join(go_ahead.ok("trace A1").out.split())
    for text in (
        "1/4; bubbling trace; OUTSIDE THE LIMITS: too much bleed-out: 9/16 in, limit 3/8 in; not steady",
        "note: smoked here",
        "the power was lost; ended because: cord slipped out; roll lot L7",
        "probe walk 0 ft to 14 ft; begun 09:50; note: lap still warm",
        "4 ft 9 in, probed; 1/2 in deep",
        "patch size 12 in; note: primed first",
    ):
        assert text in page
    (check,) = [e for e in go_ahead.ok("trace A1 --json").json["events"] if e["what"] == "bleed"]
    assert check["shortfalls"] == ["too_much", "spread", "bubbling"]


def test_a_trace_says_since_when_a_nozzle_is_carried_over(go_ahead: Any) -> None:
    """With the day, where it was not today's."""
    go_ahead.day("""
        +
        07:20 strip 5.5 1/4 3/16 1/4 none pull good --yes
        07:30 seam start A1 --nozzle 932 --speed 5.5
    """)
    page = " ".join(go_ahead.ok("trace A1").out.split())
    first = go_ahead.query("SELECT seen_local FROM strips WHERE name = 'S1'")[0][0]
    assert f"932 °F (carried over from {first[:16].replace('T', ' ')})" in page


def test_a_correction_shows_old_and_new_with_the_reason(roof: Any) -> None:
    """The old reading stays visible; the entry is untouched."""
    roof.clock.set("12:00")
    roof.ok('amend R1 speed 6 --why "misread the dial" --by BO')
    page = " ".join(roof.ok("trace A1").out.split())
    assert "5.5 ft/min became 6 ft/min; misread the dial; Ben Okoro" in page
    assert "amended" in page
    run = next(e for e in roof.entries() if e["kind"] == "run")
    assert run["payload"]["setting"]["speed"]["text"] == "5.5"
    assert roof.query("SELECT speed_m_per_min FROM runs WHERE name = 'R1'")[0][0] == pytest.approx(
        1.8288
    )
    roof.ok("verify")


def test_a_corrected_length_of_a_seam_is_told_wherever_the_seam_is(
    roof: Any, tmp_path: Path
) -> None:
    """Who, why, the old and the new length, though nothing else happened on it: roof, trace, dossier."""
    roof.clock.set("12:00")
    roof.ok('amend A3 length 34 --why "taped again" --by BO')
    told = "correction of A3, length: 33ft became 34 ft; taped again; Ben Okoro"
    assert "amended" in roof.seam("A3")["flags"]
    assert told in " ".join(roof.ok("trace A3").out.split())
    roof.ok("dossier", str(tmp_path / "out"), "--only", "html")
    assert told in " ".join((tmp_path / "out.html").read_text().split())


@pytest.mark.parametrize(
    ("line", "sql", "value"),
    [
        ("amend S1 readings 1/4,1/4,1/4", "SELECT width_min_mm FROM strips", 6.35),
        ("amend S1 humidity 60", "SELECT humidity_pct FROM strips", 60.0),
        ("amend S1 sheet-temp 70F", "SELECT sheet_c FROM strips", pytest.approx(21.111, abs=1e-3)),
        ("amend S1 damp yes", "SELECT damp FROM strips", 1),
        ("amend S1 machine red", "SELECT machine FROM strips", "red"),
        ("amend S1 bond cold", "SELECT bond FROM strips", "cold"),
        ("amend R1 end 30", "SELECT end_m FROM runs WHERE name = 'R1'", pytest.approx(9.144)),
        ("amend R1 seam A3", "SELECT seam FROM runs WHERE name = 'R1'", "A3"),
        ("amend B1 at 15", "SELECT at_m FROM bleeds", pytest.approx(4.572)),
        ("amend W1 start 1", "SELECT start_m FROM walks WHERE name = 'W1'", pytest.approx(0.3048)),
        ("amend F1 kind cold", "SELECT kind FROM findings", "cold"),
        ("amend M1 patch 14in", "SELECT patch_mm FROM mends", pytest.approx(355.6)),
        (
            "amend A1 length 34ft",
            "SELECT length_m FROM seams WHERE name = 'A1'",
            pytest.approx(10.3632),
        ),
        ("amend W1 by AR", "SELECT seen_by FROM walks WHERE name = 'W1'", "Ana Ruiz"),
    ],
)
def test_what_was_recorded_can_be_corrected(roof: Any, line: str, sql: str, value: object) -> None:
    """Every kind of record; the tables follow and verify agrees."""
    roof.ok(f'{line} --why "slip"')
    assert roof.query(sql)[0][0] == value
    roof.ok("verify")


@pytest.mark.parametrize(
    "line",
    [
        "amend S1 speed 6",
        'amend S1 speed 6 --why ""',
        "amend S1 speed fast --why x",
        "amend S1 speed 0 --why x",
        "amend S1 humidity 140 --why x",
        "amend S1 colour red --why x",
        "amend S9 speed 6 --why x",
        "amend Q1 length 3 --why x",
        "amend S1 bubbling lots-and-lots --why x",
        "amend R9 end 3 --why x",
    ],
)
def test_a_correction_that_cannot_be_is_refused(roof: Any, line: str) -> None:
    """No reason, no such value, no such field, no such record: one line, nothing recorded."""
    before = roof.entries()
    refused = roof(line)
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert roof.entries() == before


def test_the_end_of_an_unfinished_run_cannot_be_corrected(roof: Any) -> None:
    """It has none; the refusal says what to type."""
    roof.ok("seam start A3 --nozzle 932 --speed 5.5")
    refused = roof("amend R3 end 20 --why slip")
    assert refused.code == 2
    assert "weldcal seam finish" in refused.err


def test_a_bare_mark_is_corrected_to_a_bare_mark(job: Any) -> None:
    """6 on a dial of bare numbers is mark 6, not 6 ft/min."""
    job.ok('machine add "old: mark 1-9"')
    job.ok("strip record --machine old --nozzle 932 --speed 5 --bleed 1/4 --bubbling none")
    job.ok("amend S1 speed 6 --why slip")
    (row,) = job.query("SELECT dial_mark, speed_m_per_min FROM strips")
    assert tuple(row) == (6.0, None)


def test_a_bare_speed_is_corrected_in_what_the_dial_shows(job: Any) -> None:
    """1.8 on a dial in m/min is 1.8 m/min, on a job in feet too."""
    job.ok('machine add "red: m/min 0.5-7 step 0.1"')
    job.ok("strip record --machine red --nozzle 932 --speed 1.7 --bleed 1/4 --bubbling none")
    job.ok("amend S1 speed 1.8 --why slip")
    assert job.query("SELECT speed_m_per_min FROM strips")[0][0] == pytest.approx(1.8)


def test_a_time_corrected_by_the_clock_keeps_its_day(go_ahead: Any) -> None:
    """07:05 of the day the strip was made, not of today."""
    go_ahead.clock.set("09:00", days=1)
    go_ahead.ok("amend S1 at_time 07:05 --why 'watch was off'")
    assert go_ahead.query("SELECT seen_local FROM strips")[0][0] == "2026-06-01T07:05:00-06:00"


def test_a_seam_named_like_a_record_hides_neither(roof: Any) -> None:
    """Seam W1 (west) and probe walk W1: the field tells them apart."""
    roof.ok("seam add W1 --length 12ft")
    roof.ok("amend W1 start 1 --why slip")
    roof.ok("amend W1 length 13ft --why slip")
    assert roof.query("SELECT start_m FROM walks WHERE name = 'W1'")[0][0] == pytest.approx(0.3048)
    assert roof.query("SELECT length_m FROM seams WHERE name = 'W1'")[0][0] == pytest.approx(3.9624)


def test_a_warning_stays_open_until_somebody_says_what_was_done(roof: Any) -> None:
    """Then it is answered in the trace, by whom, and gone from the roof's list."""
    assert roof.seam("A2")["flags"] == ["warned"]
    roof.ok('settle R2 "lap cut out and welded anew" --by BO')
    document = roof.ok("roof --json").json
    assert document["warnings"] == []
    assert "lap cut out and welded anew; Ben Okoro" in " ".join(roof.ok("trace A2").out.split())
    before = roof.entries()
    assert roof('settle R2 "again"').code == 2
    assert roof.entries() == before


@pytest.mark.parametrize(
    "line", ["settle R1 done", "settle R9 done", "settle S1 done", 'settle R2 ""']
)
def test_only_an_open_warning_can_be_answered(roof: Any, line: str) -> None:
    """Anything else is refused in one line."""
    before = roof.entries()
    refused = roof(line)
    assert (refused.code, len(refused.err.splitlines())) == (2, 1)
    assert roof.entries() == before


def test_verify_counts_the_entries_and_finds_nothing(roof: Any) -> None:
    """Every hash, every link, every row."""
    done = roof.ok("verify --json").json
    assert (done["entries"], done["faults"]) == (len(roof.entries()), [])


def test_a_changed_entry_makes_verify_fail_by_name(roof: Any) -> None:
    """Exit code 1, the entry's id, what was expected and found."""
    with contextlib.closing(sqlite3.connect(roof.book)) as connection, connection:
        connection.execute("DROP TRIGGER entries_no_update")
        connection.execute(
            "UPDATE entries SET body = replace(body, '\"5.5\"', '\"7.5\"') WHERE kind = 'run'"
        )
    run = roof.query("SELECT id FROM entries WHERE kind = 'run' ORDER BY tick")[0]["id"]
    bad = roof("verify")
    assert bad.code == 1
    assert run in bad.out
    assert "fault" in bad.out


def test_looking_records_nothing(roof: Any) -> None:
    """roof, trace, verify, lists: the book is as it was."""
    before = roof.entries()
    for line in (
        "roof",
        "roof --json",
        "trace A1",
        "trace A1 --json",
        "verify",
        "strip list",
        "limit list",
        "job show",
        "cautions",
    ):
        roof.ok(line)
    assert roof.entries() == before


@pytest.mark.parametrize("line", ["trace Q9", "strip pull S9 good", "job use Depot"])
def test_what_nobody_heard_of_cannot_be_shown(roof: Any, line: str) -> None:
    """The refusal names what is known."""
    refused = roof(line)
    assert (refused.code, len(refused.err.splitlines())) == (2, 1)
