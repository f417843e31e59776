"""One question has one answer: random job logs, and every page that answers it.

The logs are late, out of order, amended and taken back, and typed on one device or on
two that meet now and then to merge their packs. Which run welded a place, and what is
outside, the tests reckon themselves from the rows; the limits are the program's
defaults or those that the log adopts.
"""

from __future__ import annotations

import contextlib
import io
import itertools
import json
import shlex
import shutil
import sqlite3
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.conftest import STRIP, Clock
from weldcal.book.whole import Book
from weldcal.cli.main import main
from weldcal.views.trace import BleedEvent

FT = 0.3048
SEAMS = ("A1", "A2")


class Log:
    """A book that lines are typed into; what is refused is passed over, as on a roof."""

    def __init__(self, path: Path, clock: Clock | None = None) -> None:
        self.path = path
        self.clock = clock or Clock()
        self.outside: dict[str, bool] = {}  # what `bleed` said of checks not amended since

    def __call__(self, line: str) -> dict[str, Any] | None:
        """Run a line; the JSON of one that asks for it."""
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
            main(["--book", str(self.path), *shlex.split(line)], clock=self.clock)
        text = said.getvalue()
        return json.loads(text) if "--json" in line and text.startswith("{") else None

    def rows(self, sql: str) -> list[sqlite3.Row]:
        """Rows straight from the file."""
        with contextlib.closing(sqlite3.connect(self.path)) as connection:
            connection.row_factory = sqlite3.Row
            return connection.execute(sql).fetchall()

    @contextlib.contextmanager
    def book(self) -> Iterator[Book]:
        """The book, opened as the guided day has it."""
        book = Book(self.path, clock=self.clock)
        try:
            yield book
        finally:
            book.close()


TIMES = st.builds("{:02d}:{:02d}".format, st.integers(7, 13), st.sampled_from((10, 25, 40)))
PLACES = st.sampled_from((5, 14, 28))
RUNS = st.builds(
    lambda seam, speed, ends, at: [
        f"seam start {seam} --nozzle 932 --speed {speed} --from {ends[0]} --at {at}",
        f"seam finish {seam} --to {ends[1]} --at {at[:3]}{int(at[3:]) + 8:02d}",
    ],
    st.sampled_from(("A1", *SEAMS)),
    st.sampled_from(("5.5", "9")),
    st.sampled_from(((0, 33), (0, 20), (10, 33), (33, 0))),
    TIMES,
)
CHECKS = st.builds(
    lambda seam, at_ft, read, bubbling, at: [
        f"bleed {seam} {at_ft} {read} --bubbling {bubbling} --at {at} --json"
    ],
    st.sampled_from(("A1", *SEAMS)),
    PLACES,
    st.sampled_from(("1/4,1/4", "3/16,5/16", "1/16,1/16", "1/4")),
    st.sampled_from(("none", "trace", "heavy")),
    TIMES,
)
WALKS = st.builds(
    lambda seam, end, void, at: [
        f"probe {seam} 0-{end} {'--void 4+2in' if void else ''} --at {at} --by BO"
    ],
    st.sampled_from(("A1", *SEAMS)),
    st.sampled_from((20, 33)),
    st.booleans(),
    TIMES,
)
UNDONE = st.builds(
    lambda kind, n: [f"undo {kind}{n} --yes --why slip"], st.sampled_from("RBW"), st.integers(1, 3)
)
AMENDED = st.builds(
    lambda n, what: [f"amend {what.format(n=n)} --why slip"],
    st.integers(1, 3),
    st.sampled_from(("B{n} readings 1/16", "B{n} readings 1/4", "R{n} speed 7")),
)
ADOPTED = st.sampled_from(
    (
        [],
        ["limit set trace_passes 1 --source 'sheet maker' --by 'Ana Ruiz'"],
        ["limit set readings_spread 1/16in --source 'sheet maker' --by 'Ana Ruiz'"],
    )
)
LOGS = st.builds(
    lambda limits, parts: [limits, *parts],
    ADOPTED,
    st.lists(st.one_of(RUNS, CHECKS, RUNS, CHECKS, WALKS, UNDONE, AMENDED), min_size=4, max_size=9),
)
random_logs = settings(
    max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)


@pytest.fixture(scope="session")
def morning(_school: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A go-ahead, S1, welded at 06:45 and pulled at 07:00."""
    log = Log(tmp_path_factory.mktemp("morning") / "book.sqlite")
    shutil.copyfile(_school, log.path)
    for time, line in (("06:45", STRIP), ("07:00", "strip pull S1 good --parted compound")):
        log.clock.set(time)
        log(line)
    return log.path


# Who types the next line, in turn; at a meeting each takes in the other's pack first.
HANDS = st.one_of(
    st.just([]), st.lists(st.sampled_from(("one", "other", "meet")), min_size=1, max_size=6)
)


def exchanged(one: Log, other: Log) -> None:
    """Each takes in what the other has."""
    for here, there in ((one, other), (other, one)):
        file = here.path.with_name(f"{next(_NUMBERS)}.weldpack")
        here(f"pack {file}")
        there(f"merge {file}")


_NUMBERS = itertools.count()


def played(
    morning: Path, folder: Path, parts: list[list[str]], hands: list[str]
) -> tuple[Log, Log | None]:
    """A log typed at the end of the day, as one writes up a notebook.

    Returns:
        the book, and the other device's where there are two; both then know all.
    """
    log = Log(folder / "book.sqlite")
    shutil.copyfile(morning, log.path)
    lines = [line for part in parts for line in part]
    log.clock.set("07:05")  # limits hold from when they were adopted
    for line in filter(_is_limit, lines):
        log(line)
    log.clock.set("15:00")
    other = None
    if hands:
        other = Log(folder / "other.sqlite", log.clock)
        exchanged(log, other)
        other('me "Ben Okoro"')
    typed = itertools.filterfalse(_is_limit, lines)
    for line, hand in zip(typed, itertools.cycle(hands or ["one"])):
        if other is not None and hand == "meet":
            exchanged(log, other)
        said = other(line) if other is not None and hand == "other" else log(line)
        if said is not None and line.startswith("bleed "):
            codes = {note["code"] for note in said["notes"]}
            log.outside[said["name"]] = "off_limits" in codes
        if line.startswith("amend B"):
            log.outside.pop(line.split()[1], None)
    if other is not None:
        exchanged(log, other)
    for name in given_twice(log):
        log.outside.pop(name, None)
    return log, other


def plain(name: str) -> str:
    """A short name without the device that a page adds where another gave it too."""
    return name.partition(".")[0]


def given_twice(log: Log) -> set[str]:
    """Names that both devices gave to a check: such a name alone says of neither."""
    names = Counter(row["name"] for row in log.rows("SELECT name FROM bleeds"))
    return {name for name, count in names.items() if count > 1}


def _is_limit(line: str) -> bool:
    return line.startswith("limit ")


def welded_by(log: Log, check: sqlite3.Row) -> sqlite3.Row | None:
    """The run that had welded the place of a check when it was seen: from the rows alone."""
    runs = [
        run
        for run in log.rows("SELECT * FROM runs")
        if run["seam_key"] == check["seam_key"]
        and (run["seen_utc"], run["tick"]) <= (check["seen_utc"], check["tick"])
        and (
            run["end_m"] is None
            or min(run["start_m"], run["end_m"])
            <= check["at_m"]
            <= max(run["start_m"], run["end_m"])
        )
    ]
    return max(runs, key=lambda run: (run["seen_utc"], run["tick"]), default=None)


@random_logs
@given(parts=LOGS, hands=HANDS)
def test_every_page_lays_a_check_to_the_run_that_had_welded_there(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
) -> None:
    """What the computation learns from, and the chart of the terminal and of the dossier."""
    log, _other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    checks = log.rows("SELECT * FROM bleeds WHERE readings_n > 0 ORDER BY seen_utc, tick")
    runs = [(check, run) for check in checks if (run := welded_by(log, check))]
    with log.book() as book:
        learnt = Counter(
            round(o.speed_m_per_min, 6) for o in book.observing.observations() if o.on_seam
        )
    assert learnt == Counter(round(run["speed_m_per_min"], 6) for _check, run in runs)


@random_logs
@given(parts=LOGS, hands=HANDS)
def test_the_chart_is_one_on_the_screen_and_in_the_dossier(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
) -> None:
    """The checks whose run stands on the go-ahead, in the order seen; the dossier draws from two on."""
    log, _other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    (strip,) = log.rows("SELECT * FROM strips")
    checks = log.rows("SELECT * FROM bleeds WHERE readings_n > 0 ORDER BY seen_utc, tick")
    expected = [
        check["name"]
        for check in checks
        if (run := welded_by(log, check)) and run["go_ahead"] == strip["id"]
    ]
    said = log("chart S1 --json")
    assert [row["name"] for row in (said or {"checks": []})["checks"]] == expected
    with log.book() as book:
        drawn = [[row["name"] for row in chart.rows] for chart in book.dossiers.dossier().charts]
    assert drawn == ([expected] if len(expected) > 1 else [])


@random_logs
@given(parts=LOGS, hands=HANDS)
def test_a_check_is_inside_or_outside_on_every_page(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
) -> None:
    """`bleed`, the trace, the dossier's trace and doubt agree; evening clears what doubt names."""
    log, _other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    twice = given_twice(log)
    traced = [
        event
        for seam in SEAMS
        for event in (log(f"trace {seam} --json") or {"events": []})["events"]
        if event["what"] == "bleed" and plain(event["name"]) not in twice
    ]
    outside = {event["name"] for event in traced if event["shortfalls"]}
    doubt = log("doubt --json")
    assert doubt is not None
    doubted = {d["failure"] for d in doubt["doubts"] if d["kind"] == "bleed"}
    doubted = {name for name in doubted if plain(name) not in twice}
    names = {row["id"]: row["name"] for row in log.rows("SELECT id, name FROM bleeds")}
    loose = {name for name in names.values() if name in str(doubt["unplaced"])}
    shown = {event["name"]: bool(event["shortfalls"]) for event in traced}
    assert {name: log.outside[name] for name in shown if name in log.outside} == {
        name: is_outside for name, is_outside in shown.items() if name in log.outside
    }
    assert doubted <= outside
    assert outside <= doubted | loose
    evening = log("evening --json")
    assert evening is not None
    assert set(evening["first_tomorrow"]["clear"]) >= doubted
    with log.book() as book:
        for trace in book.dossiers.dossier().traces:
            for event in trace.events:
                if isinstance(event, BleedEvent) and plain(event.row["name"]) not in twice:
                    assert bool(event.row["shortfalls"]) == (event.row["name"] in outside)


@random_logs
@given(parts=LOGS, hands=HANDS)
def test_a_seam_has_one_state_on_every_page(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
) -> None:
    """Roof, trace, the dossier and the evening: state, flags and what is still unprobed."""
    log, _other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    roof = log("roof --json")
    assert roof is not None
    listed = {seam["name"]: seam for seam in roof["seams"]}
    for name in SEAMS:
        trace = log(f"trace {name} --json")
        if trace is not None:
            for key in ("state", "flags", "open", "unprobed_stretches_m", "mended_unprobed"):
                assert trace[key] == listed[name][key]
    with log.book() as book:
        dossier, evening = book.dossiers.dossier(), book.looking_back.evening()
    for facts in (dossier.seams, evening.seams):
        for seam in facts:
            shown = listed[seam.name]
            assert (seam.state.state, list(seam.flags)) == (shown["state"], shown["flags"])
            assert seam.state.probed_m == pytest.approx(shown["probed_m"])


@random_logs
@given(parts=LOGS, hands=HANDS, minutes=st.integers(0, 900))
def test_a_go_ahead_stands_or_not_on_every_page(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
    minutes: int,
) -> None:
    """`go-ahead`, the evening and the guided day, at any time of the day."""
    log, _other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    log.clock.set(f"{9 + minutes // 60:02d}:{minutes % 60:02d}")
    said = log("go-ahead --json")
    evening = log("evening --json")
    assert said is not None
    assert evening is not None
    assert [(g["name"], g["level"]) for g in evening["go_aheads"]] == [
        (said["strip"], said["level"])
    ]
    with log.book() as book:
        standing = book.days.view("operator").standing
    assert standing is not None
    assert (standing.name, standing.level) == (said["strip"], said["level"])


PAGES = ("roof", "doubt", "chart S1", "go-ahead", "evening", "trace A1", "trace A2", "faults")


@settings(parent=random_logs, max_examples=8)  # sixteen pages each
@given(parts=LOGS, hands=HANDS.filter(bool))
def test_two_devices_that_know_the_same_give_the_same_answers(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
) -> None:
    """Every page's JSON, and what the computation learns from, whoever typed what where."""
    one, other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    assert other is not None
    for page in PAGES:
        assert one(f"{page} --json") == other(f"{page} --json"), page
    with one.book() as mine, other.book() as theirs:
        assert list(mine.observing.observations()) == list(theirs.observing.observations())
