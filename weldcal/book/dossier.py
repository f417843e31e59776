"""What the warranty dossier, the evening page and the history are made from.

Invariant: nothing is recorded here. Seams are read one after another, so that a
roof of ten thousand costs no more memory than its summary; what comes out is
plain: SI floats and text, with names left out where that was asked.
"""

from __future__ import annotations

import heapq
import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import groupby, islice
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from weldcal.book.core import LETTERS
from weldcal.book.dialling import Asked, Dialling, _hour, _true_speed
from weldcal.book.foreman import _KIND_OF, _ON_SEAMS, _record
from weldcal.book.keeping import Keeping
from weldcal.book.operator import last_reaching
from weldcal.book.setup import hours_since_epoch
from weldcal.errors import Misplaced, Unheard
from weldcal.log import chain, store
from weldcal.quality.coverage import covers, ordered, total, union
from weldcal.quality.goahead import voids
from weldcal.quality.seam import SeamState, state_of
from weldcal.records.limits import DEFAULTS
from weldcal.tables.schema import TABLES
from weldcal.words import _, mark

if TYPE_CHECKING:
    from weldcal.calibration import Advice, Observation, Window

Row = dict[str, Any]

# Seams traced in full; strips whose fit is drawn; seams read at once.
MOST_TRACED, MOST_FITS, _AT_ONCE = 150, 40, 300
# A strip this much warmer or colder than the one before it is drawn on a chart of its own.
_ANOTHER_WEATHER_K = 8.0
_CURVE_POINTS = 25
SAMPLE = "sample cut"
_FREE_TEXT = ("note", "why", "done", "method", "tool", "place", "label", "how", "description")
# Tables told elsewhere in the dossier, or of no use on paper.
_TOLD = {
    "jobs", "areas", "sheets", "machines", "instruments", "people", "limits", "conditions", "strips",
    "readings", "seams", *_ON_SEAMS, "advice", "seals", "handed", "warnings", "amendments",
}  # fmt: skip


class Step(Struct, frozen=True):
    """How far a long gathering is."""

    what: str
    done: int
    total: int


class SeamFacts(Struct, frozen=True):
    """One seam, summed up. Lengths in m.

    Attributes:
        place: area, then x and y of both ends, m; None where the plan has none.
        faults: findings other than cuts for samples.
        fault_m: length of the union of the faults.
        marks: (what, from, to), `what` one of open, mended, closed, sample, mend.
        urgency: sorts the seams that want a page of their own, the worst first;
            empty for a seam with nothing to tell.
    """

    key: str
    name: str
    listed: bool
    kind: str | None
    lap: str | None
    length_m: float | None
    place: tuple[str | None, float, float, float, float] | None
    state: SeamState
    flags: tuple[str, ...]
    runs: int
    walks: int
    faults: int
    fault_m: float
    mends: int
    samples: int
    marks: tuple[tuple[str, float, float], ...]
    urgency: tuple[int, ...]


class Counted(Struct):
    """How many records bear a mark, and the first of them by name."""

    n: int = 0
    names: list[str] = []
    worst_h: float = 0.0


class DayFit(Struct, frozen=True):
    """The fit for one spell of strips: one day, machine, sheet, lap kind and weather.

    Attributes:
        at: conditions the curve is drawn for, SI.
        points: (strip, speed m/min, reading mm, met the limits).
        curve: (speed, median, 5 %, 95 %) of the next strip, m/min and mm.
        used: (seam, speed m/min, length m) of the runs that stand on these strips.
    """

    day: str
    machine: str
    sheet: str
    lap: str
    nozzle_c: float
    at: dict[str, float | None]
    low_mm: float
    aim_mm: float
    high_mm: float
    strips: int
    points: list[tuple[str, float, float, bool]]
    curve: list[tuple[float, float, float, float]]
    used: list[tuple[str, float, float]]


class Dossier(Struct):
    """All that the dossier tells of a job."""

    job: Row
    made: str
    version: str
    people_shown: bool
    lists: dict[str, list[Row]]
    limits: list[Row]
    limit_changes: list[Row]
    seams: list[SeamFacts]
    traces: list[Row]
    untraced: int
    marks: dict[str, Counted]
    strips: list[Row]
    conditions: list[Row]
    runs: list[Row]
    bleeds: list[Row]
    peels: list[Row]
    fits: list[DayFit]
    unfitted: int
    warnings: list[Row]
    amendments: list[Row]
    seals: list[Row]
    entries: list[Row]
    heads: list[Row]
    faults: list[chain.Fault]
    clocks: list[chain.Fault]
    other: dict[str, list[Row]]
    has_covers: bool


class Evening(Struct):
    """All that the evening page tells of a day."""

    job: Row
    day: str
    made: str
    seams: list[SeamFacts]
    welded_m: float
    probed_m: float
    runs: list[Row]
    walks: list[Row]
    findings: list[Row]
    mends: list[Row]
    strips: list[Row]
    warnings: list[Row]
    started: list[Started]
    ambient_c: float | None
    ambient_from: str | None


class Started(Struct, frozen=True):
    """Tomorrow's starting speed for one machine, sheet and lap kind; never recorded as advice."""

    asked: Asked | None
    advice: Advice | None
    machine: str
    sheet: str
    lap: str
    why_not: str | None = None


class Dossiers(Keeping, Dialling):
    """What is gathered for the pages that are handed on or looked at."""

    # -- the dossier -------------------------------------------------------------------

    def dossier(self, *, people: bool = True) -> Iterator[Step | Dossier]:
        """Gather the dossier of the job: steps of the way, and last the dossier.

        Args:
            people: False puts "person 1", "person 2" for names.
        """
        from weldcal import __version__

        job = self.job
        names = self._people(people)
        yield Step(_("chain"), 0, 1)
        with store.trouble(self.path):
            faults = chain.verify_chain(self.reading()) + self.photo_faults()
        yield Step(_("clocks"), 0, 1)
        clocks = self.clock_warnings()
        marks: dict[str, Counted] = {}
        seams: list[SeamFacts] = []
        for step in self._summed(marks, seams):
            yield step
        wanted = sorted((s for s in seams if s.urgency), key=lambda s: s.urgency)
        yield Step(_("traces"), 0, 1)
        traces = self._traces([s.key for s in wanted[:MOST_TRACED]], seams)
        strips = self.strips()
        conditions = self._of("conditions")
        _count_marks(marks, "conditions", conditions)
        _count_marks(marks, "strips", strips)
        fits: list[DayFit] = []
        unfitted = 0
        for found in self._fits(strips):
            if isinstance(found, int):
                unfitted = found
            elif isinstance(found, DayFit):
                fits.append(found)
            else:
                yield found
        for trace in traces:
            for event in trace["events"]:
                event["row"] = names.mask(event["row"])
        seals = self.seals()
        for seal in seals:
            seal["handed"] = [names.mask(row) for row in seal["handed"]]
        (job_row,) = self.rows("SELECT * FROM jobs WHERE id = ?", (job.id,))
        bleeds = self._of("bleeds")
        self._add_readings([{"row": row} for row in bleeds])
        yield Dossier(
            job=names.mask(job_row), made=self.now().isoformat(timespec="seconds"), version=__version__,
            people_shown=people, lists=self._lists(names), limits=names.all(self._limits_now()),
            limit_changes=names.all(self.rows("SELECT * FROM limits WHERE job = ? ORDER BY tick", (job.id,))),
            seams=seams, traces=traces, untraced=max(0, len(wanted) - MOST_TRACED), marks=marks,
            strips=names.all(strips), conditions=names.all(conditions), runs=names.all(self._of("runs")),
            bleeds=names.all(bleeds), peels=names.all(self._of("peels")), fits=fits, unfitted=unfitted,
            warnings=names.all(self.warnings(open_only=False)),
            amendments=names.all(self._amendments()), seals=names.all(seals),
            entries=names.all(self._entry_counts()), heads=self._head_rows(), faults=faults, clocks=clocks,
            other={t: names.all(self._of(t)) for t in TABLES if t not in _TOLD},
            has_covers="covers" in TABLES,
        )  # fmt: skip

    def findings_in_full(self, *, people: bool = True) -> Iterator[Row]:
        """Every finding of the job, one after another, in the order they were seen."""
        names = self._people(people)
        rows = self.reading().execute(
            "SELECT * FROM findings WHERE job = ? ORDER BY seen_utc, tick", (self.job.id,)
        )
        for row in rows:
            yield names.mask(dict(row))

    def _people(self, shown: bool) -> _Names:
        """Names, those on the job's list first, so that free text is searched for them."""
        names = _Names(shown)
        names.all([{"who": name} for name in self._names("people")])
        return names

    def _of(self, table: str) -> list[Row]:
        """Rows of a table of this job, marked where they are observations."""
        order = "seen_utc, tick" if "seen_utc" in TABLES[table] else "rowid"
        rows = self.rows(
            f"SELECT * FROM {table} WHERE job = ? ORDER BY {order}", (self.job.id,)
        )
        return self.marked(rows) if "flags" in TABLES[table] else rows

    def _lists(self, names: _Names) -> dict[str, list[Row]]:
        found = {t: self._of(t) for t in ("areas", "sheets", "machines", "instruments", "people")}
        for person in found["people"]:
            person["name"] = names(person["name"])
            person["initials"] = person["initials"] if names.shown else None
        return found

    def _limits_now(self) -> list[Row]:
        return [
            {
                "name": name, "means": DEFAULTS[name].means, "text": limit.value.text,
                "unit": limit.value.unit, "source": limit.source, "adopted_by": limit.adopted_by,
            }
            for name, limit in self.limits().items()
        ]  # fmt: skip

    def _amendments(self) -> list[Row]:
        """Corrections, each with the name of what it corrects."""
        rows = self.rows("SELECT * FROM amendments WHERE job = ? ORDER BY tick", (self.job.id,))
        called: dict[str, str] = {}
        for table in {t for t, _what in LETTERS.values()} | {"seams"}:
            found = self.rows(
                f"SELECT id, name FROM {table} WHERE id IN "
                '(SELECT "of" FROM amendments WHERE job = ?)',
                (self.job.id,),
            )
            called |= {row["id"]: row["name"] for row in found}
        return [{**row, "name": called.get(row["of"], "–")} for row in rows]

    def _entry_counts(self) -> list[Row]:
        """Entries by who typed them and kind."""
        return self.rows(
            "SELECT json_extract(body, '$.who') AS who, kind, count(*) AS n, "
            "min(json_extract(body, '$.at')) AS first, max(json_extract(body, '$.at')) AS last "
            "FROM entries WHERE job = ? OR id = ? GROUP BY 1, 2 ORDER BY 1, 2",
            (self.job.id, self.job.id),
        )

    def _head_rows(self) -> list[Row]:
        """The last entry of every device."""
        return self.rows(
            "SELECT device, seq, hash FROM entries e WHERE seq = "
            "(SELECT max(seq) FROM entries WHERE device = e.device) ORDER BY device, hash"
        )

    # -- seams, one after another --------------------------------------------------------

    def _summed(self, marks: dict[str, Counted], into: list[SeamFacts]) -> Iterator[Step]:
        """Sum every seam up into `into`, in the order listed; count marks on the way."""
        listed = {row["seam_key"]: row for row in reversed(self.seams())}
        twice = {k for k, n in Counter(row["seam_key"] for row in self.seams()).items() if n > 1}
        warned = {warning["of"] for warning in self.warnings()}
        found: dict[str, SeamFacts] = {}
        whole = max(len(listed), 1)
        for batch in self._seam_batches():
            for key, rows in batch.items():
                for table, part in rows.items():
                    _count_marks(marks, table, part)
                found[key] = _facts(key, listed.get(key), rows, warned, key in twice)
            yield Step(_("seams"), min(len(found), whole), whole)
        for key in [*reversed(listed), *(k for k in found if k not in listed)]:
            into.append(found.get(key) or _facts(key, listed[key], {}, warned, key in twice))

    def _seam_batches(self) -> Iterator[dict[str, dict[str, list[Row]]]]:
        """Rows on seams, `_AT_ONCE` seams at a time: seam key -> table -> marked rows."""
        streams = [self._by_seam(table) for table in _ON_SEAMS]
        merged = groupby(heapq.merge(*streams, key=itemgetter(0)), key=itemgetter(0))
        while True:
            flat: dict[str, list[Row]] = {}
            for _key, group in islice(merged, _AT_ONCE):
                for _same, table, row in group:
                    flat.setdefault(table, []).append(row)
            if not flat:
                return
            yield self._sorted_out(flat)

    def _by_seam(self, table: str) -> Iterator[tuple[str, str, Row]]:
        rows = self.reading().execute(
            f"SELECT * FROM {table} WHERE job = ? AND seam IS NOT NULL "
            "ORDER BY seam_key, seen_utc, tick",
            (self.job.id,),
        )
        for row in rows:
            yield row["seam_key"], table, dict(row)

    def _sorted_out(self, flat: dict[str, list[Row]]) -> dict[str, dict[str, list[Row]]]:
        found: dict[str, dict[str, list[Row]]] = {}
        for table, rows in flat.items():
            for row in self.marked(rows):
                found.setdefault(row["seam_key"], {}).setdefault(table, []).append(row)
        return found

    def _traces(self, keys: list[str], seams: list[SeamFacts]) -> list[Row]:
        """Traces of these seams, in this order, as `trace` gives them."""
        if not keys:
            return []
        places = ", ".join("?" * len(keys))
        flat = {
            table: self.rows(
                f"SELECT * FROM {table} WHERE job = ? AND seam_key IN ({places}) "
                "ORDER BY seen_utc, tick",
                (self.job.id, *keys),
            )
            for table in _ON_SEAMS
        }
        rows = self._sorted_out(flat)
        listed = {row["seam_key"]: row for row in reversed(self.seams())}
        facts = {s.key: s for s in seams}
        return [
            {
                "name": facts[key].name, "seam": listed.get(key), "state": facts[key].state,
                "flags": list(facts[key].flags),
                "events": self._events(listed.get(key), rows.get(key, {})),
            }
            for key in keys
        ]  # fmt: skip

    def _events(self, seam: Row | None, rows: dict[str, list[Row]]) -> list[Row]:
        events = [
            {"what": _KIND_OF[table], "row": row, "seen_utc": row["seen_utc"], "tick": row["tick"]}
            for table in _ON_SEAMS
            for row in rows.get(table, [])
        ]
        strips = {run["go_ahead"] for run in rows.get("runs", []) if run["go_ahead"]}
        events += [
            {"what": "strip", "row": s, "seen_utc": s["seen_utc"], "tick": s["tick"]}
            for s in self.marked(self._judged(self._by_ids("strips", strips)))
        ]
        self._add_readings([event for event in events if event["what"] == "bleed"])
        about = [event["row"]["id"] for event in events] + ([seam["id"]] if seam else [])
        for at in range(0, len(about), 500):
            events += self._about(about[at : at + 500])
        return sorted(events, key=lambda event: (event["seen_utc"], event["tick"]))

    # -- the fit, spell by spell -----------------------------------------------------------

    def _fits(self, strips: list[Row]) -> Iterator[Step | DayFit | int]:
        """The latest spells' fits, oldest first; last, how many were left out."""
        spells = self._spells(strips)
        drawn = spells[-MOST_FITS:]
        runs = self._runs_by_strip() if drawn else {}
        observations = self.observations() if drawn else []
        fitted: dict[Any, Any] = {}
        for n, spell in enumerate(drawn):
            yield Step(_("fits"), n, len(drawn))
            fit = self._fit_of(spell, observations, runs, fitted)
            if fit is not None:
                yield fit
        yield len(spells) - len(drawn)

    def _spells(self, strips: list[Row]) -> list[list[Row]]:
        """Strips of sheets judged by bleed-out, parted by day, kind and weather."""
        by_bond = {
            r["name"]
            for r in self.rows("SELECT name, judged_by FROM sheets WHERE job = ?", (self.job.id,))
            if r["judged_by"] != "bleed-out"
        }
        kinds: dict[tuple[str, ...], list[Row]] = {}
        for strip in strips:
            if strip["sheet"] not in by_bond and strip["widths_mm"]:
                key = tuple(strip[k] for k in ("day", "machine", "sheet", "lap"))
                kinds.setdefault(key, []).append(strip)
        spells = []
        for kind in kinds.values():
            spell: list[Row] = []
            for strip in kind:
                if spell and _other_weather(spell[0], strip):
                    spells.append(spell)
                    spell = []
                spell.append(strip)
            spells.append(spell)
        return sorted(spells, key=lambda spell: (spell[0]["seen_utc"], spell[0]["tick"]))

    def _runs_by_strip(self) -> dict[str, list[Row]]:
        found: dict[str, list[Row]] = {}
        for run in self.rows(
            "SELECT * FROM runs WHERE job = ? AND go_ahead IS NOT NULL ORDER BY seen_utc, tick",
            (self.job.id,),
        ):
            found.setdefault(run["go_ahead"], []).append(run)
        return found

    def _fit_of(
        self, spell: list[Row], observations: list[Observation], runs: dict[str, list[Row]],
        fitted: dict[Any, Any],
    ) -> DayFit | None:  # fmt: skip
        from weldcal.calibration import Question, fit

        last = spell[-1]
        try:
            dial, machine = self.dial_of(last["machine"])
        except Unheard:
            return None
        speeds = [(s, _true_speed(s, dial)) for s in spell]
        known = [(s, v) for s, v in speeds if v is not None and s["nozzle_c"] is not None]
        if not known:
            return None
        window = self._window_at(last["sheet"], last["seen_utc"])
        at = {c: _middle(s[c] for s, _v in known) for c in _WEATHER}
        question = Question(
            day=last["day"], machine=last["machine"], sheet=last["sheet"], lap=last["lap"],
            nozzle_c=known[-1][0]["nozzle_c"], rated_v=machine["rated_v"],
            hour=_hour(last["seen_local"]), **at,  # type: ignore[arg-type]
        )  # fmt: skip
        used = [
            (run["seam"], _true_speed(run, dial), abs(run["end_m"] - run["start_m"]))
            for strip in spell
            for run in runs.get(strip["id"], [])
            if run["end_m"] is not None
        ]
        moved = [(seam, v, length) for seam, v, length in used if v is not None]
        if window not in fitted:
            fitted[window] = fit(observations, window)
        along = _spaced([v for _s, v in known] + [v for _seam, v, _l in moved])
        forecasts = fitted[window].forecast(question, along, question.nozzle_c, window)
        return DayFit(
            day=last["day"], machine=last["machine"], sheet=last["sheet"], lap=last["lap"],
            nozzle_c=question.nozzle_c or 0.0, at=at, low_mm=window.low_mm, aim_mm=window.aim_mm,
            high_mm=window.high_mm, strips=len(known),
            points=[(s["name"], v, mm, not s["shortfalls"]) for s, v in known for mm in s["widths_mm"]],
            curve=[(f.speed_m_per_min, f.width_mm, f.width_low_mm, f.width_high_mm) for f in forecasts],
            used=moved,
        )  # fmt: skip

    def _window_at(self, sheet: str, at_utc: str) -> Window:
        """The limits in force at a time as the computation takes them."""
        from weldcal.calibration import Window

        limits = self.acceptance(sheet, at_utc)
        return Window(
            low_mm=limits.low_mm + limits.guard_mm, aim_mm=limits.aim_mm,
            high_mm=limits.high_mm - limits.guard_mm, by_bleed_out=limits.by_bleed_out,
            trace_ok=limits.trace_passes,
        )  # fmt: skip

    # -- the evening -------------------------------------------------------------------------

    def evening(
        self, *, day: str | None = None, ambient_c: float | None = None
    ) -> Iterator[Step | Evening]:
        """Gather a day's page: steps of the way, and last the page.

        Args:
            day: the job's local day, ISO; today where not given.
            ambient_c: air expected tomorrow morning, °C; that of the day's first
                reading where not given.
        """
        job, now = self.job, self.now()
        day = day or self._day(now.isoformat())
        seams: list[SeamFacts] = []
        for step in self._summed({}, seams):
            yield step
        today = {
            t: [r for r in self._of(t) if r["day"] == day]
            for t in ("runs", "walks", "findings", "mends")
        }
        strips = [s for s in self.strips() if s["day"] == day]
        for strip in strips:
            strip["void"] = self._void_now(strip, now.isoformat())
        yield Step(_("tomorrow"), 0, 1)
        ambient, read_at = self._expected(day, ambient_c)
        (job_row,) = self.rows("SELECT * FROM jobs WHERE id = ?", (job.id,))
        yield Evening(
            job=job_row, day=day, made=now.isoformat(timespec="seconds"), seams=seams,
            welded_m=sum(_by_seam_m(today["runs"]).values()),
            probed_m=sum(_by_seam_m(today["walks"]).values()), **today, strips=strips,
            warnings=self.warnings(), started=self._tomorrow(day, ambient), ambient_c=ambient,
            ambient_from=read_at,
        )  # fmt: skip

    def _void_now(self, strip: Row, at: str) -> tuple[Any, ...]:
        """What keeps a go-ahead from standing for its own machine, sheet and lap kind."""
        if strip["shortfalls"]:
            return ()
        own = self._standing(strip)
        limits = self.acceptance(strip["sheet"])
        return tuple(voids(own, own.key, self._day(at), hours_since_epoch(at), limits))

    def _expected(self, day: str, given_c: float | None) -> tuple[float | None, str | None]:
        if given_c is not None:
            return given_c, None
        rows = self.rows(
            "SELECT ambient_c, seen_local FROM conditions WHERE job = ? AND day <= ? AND "
            "ambient_c IS NOT NULL ORDER BY day DESC, seen_utc LIMIT 1",
            (self.job.id, day),
        )
        return (rows[0]["ambient_c"], rows[0]["seen_local"]) if rows else (None, None)

    def _tomorrow(self, day: str, ambient_c: float | None) -> list[Started]:
        """The starting speed of every kind of lap welded or tried on the latest day of work."""
        kinds = self.rows(
            "SELECT DISTINCT machine, sheet, lap FROM strips WHERE job = ? AND day = "
            "(SELECT max(day) FROM strips WHERE job = ? AND day <= ?) ORDER BY 1, 2, 3",
            (self.job.id, self.job.id, day),
        )
        if ambient_c is None:
            return []
        morning = datetime.fromisoformat(day) + timedelta(days=1, hours=7)
        return [self.start_for(r, ambient_c, f"{morning:%Y-%m-%d %H:%M}") for r in kinds]

    def start_for(self, kind: Row, ambient_c: float, at: str) -> Started:
        """The speed to try first for a machine, sheet and lap kind at a time to come.

        Asked and answered only: nothing is recorded as advice given.
        """
        from weldcal.calibration import NothingInReachError, fit

        named = {k: kind[k] for k in ("machine", "sheet", "lap")}
        try:
            asked = self.ask(**named, given={"ambient_c": ambient_c}, at=at, by="-")
            known = fit(asked.observations, asked.window)
            advice = known.advise(asked.question, asked.window, asked.reach)
        except (Misplaced, Unheard, NothingInReachError) as error:
            return Started(None, None, **named, why_not=str(error))
        return Started(asked, advice, **named)

    # -- many jobs ----------------------------------------------------------------------------

    def history(self) -> list[Row]:
        """Every job of the book: its row, strips judged, runs, walks and faults tied to their run."""
        found = []
        for job in self.rows("SELECT * FROM jobs ORDER BY tick"):
            book = type(self)(self.path, job=job["name"], by=self._by, clock=self._clock)
            try:
                found.append({"job": job, **book._past()})
            finally:
                book.close()
        return found

    def _past(self) -> dict[str, list[Row]]:
        dials = {r["name"]: self.dial_of(r["name"])[0] for r in self._machines()}
        strips, runs = self.strips(), self._of("runs")
        for row in (*strips, *runs):
            row["true_m_per_min"] = _true_speed(row, dials.get(row["machine"]))
            row["dial_m_per_min"] = row["speed_m_per_min"]
        by_seam: dict[str, list[Row]] = {}
        for run in runs:
            by_seam.setdefault(run["seam_key"], []).append(run)
        faults = [
            {**f, "run": last_reaching(by_seam.get(f["seam_key"], []), f["start_m"])}
            for f in self.rows(
                "SELECT id, name, seam, seam_key, kind, start_m, end_m, day, seen_by FROM findings "
                "WHERE job = ? AND kind <> ? ORDER BY seen_utc, tick",
                (self.job.id, SAMPLE),
            )
        ]
        walks: dict[str, list[Row]] = {}
        for walk in self.rows(
            "SELECT seam_key, start_m, end_m, seen_utc, tick FROM walks WHERE job = ?",
            (self.job.id,),
        ):
            walks.setdefault(walk["seam_key"], []).append(walk)
        for run in runs:
            run["probed_m"] = _probed_m(run, walks.get(run["seam_key"], []))
        return {"strips": strips, "runs": runs, "faults": faults}


_WEATHER = ("ambient_c", "sheet_c", "humidity_pct", "wind_m_per_s", "line_v")
_WORST = (mark("late"), mark("ahead of the clock"))


class _Names:
    """Names as they are, or "person 1", "person 2" in the order met."""

    def __init__(self, shown: bool) -> None:
        self.shown = shown
        self._known: dict[str, str] = {}

    def __call__(self, name: str) -> str:
        if self.shown or not name:
            return name
        if name not in self._known:
            self._known[name] = _("person {n}", n=len(self._known) + 1)
        return self._known[name]

    def all(self, rows: Iterable[Row]) -> list[Row]:
        """Rows without names."""
        return [self.mask(row) for row in rows]

    def mask(self, row: Row) -> Row:
        """A row without names; names that free text repeats are put out of it as well."""
        if self.shown:
            return row
        masked = {k: self(v) if v and (k.endswith("_by") or k in ("to", "who")) else v for k, v in row.items()}
        if row.get("path") == "seen.by":
            for k in ("old", "new"):
                masked[k] = json.dumps(self(json.loads(row[k])), ensure_ascii=False)
        for k in _FREE_TEXT:
            if isinstance(row.get(k), str):
                masked[k] = self._put_out(row[k])
        return masked

    def _put_out(self, text: str) -> str:
        for name, put in self._known.items():
            if len(name) > 2:
                text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", put, text)
        return text


def _facts(
    key: str, seam: Row | None, rows: dict[str, list[Row]], warned: set[str], twice: bool
) -> SeamFacts:
    state = state_of(_record(seam, rows, warned))
    marks = [m for part in rows.values() for row in part for m in row["marks"]]
    flags = dict.fromkeys([*state.flags, *(["listed twice"] if twice else []), *marks])
    findings = rows.get("findings", [])
    faults = [f for f in findings if f["kind"] != SAMPLE]
    ever_warned = any(r["warnings"] != "[]" for r in rows.get("runs", []))
    odd = bool(findings) or ever_warned or bool(flags.keys() & {"amended", "conflict"})
    worst = (not state.open, not state.mended, "conflict" not in flags, "warned" not in flags,
             "amended" not in flags, -len(faults))  # fmt: skip
    place = _place(seam)
    return SeamFacts(
        key=key, name=seam["name"] if seam else next(r["seam"] for p in rows.values() for r in p),
        listed=seam is not None, kind=seam["kind"] if seam else None,
        lap=seam["lap"] if seam else None, length_m=seam["length_m"] if seam else None, place=place,
        state=state, flags=tuple(flags), runs=len(rows.get("runs", [])),
        walks=len(rows.get("walks", [])), faults=len(faults),
        fault_m=total(ordered(f["start_m"], f["end_m"]) for f in faults),
        mends=len(rows.get("mends", [])), samples=len(rows.get("peels", [])),
        marks=tuple(_marks_of(state, rows)), urgency=tuple(map(int, worst)) if odd else (),
    )  # fmt: skip


def _place(seam: Row | None) -> tuple[str | None, float, float, float, float] | None:
    ends = [seam.get(c) for c in ("x0_m", "y0_m", "x1_m", "y1_m")] if seam else [None]
    if seam is None or any(end is None for end in ends):
        return None
    x0, y0, x1, y1 = (float(end) for end in ends if end is not None)
    return seam.get("area"), x0, y0, x1, y1


def _marks_of(
    state: SeamState, rows: dict[str, list[Row]]
) -> Iterator[tuple[str, float, float]]:
    for finding in rows.get("findings", []):
        name = finding["name"]
        what = "open" if name in state.open else "mended" if name in state.mended else "closed"
        if finding["kind"] != SAMPLE or what != "closed":
            yield what, *ordered(finding["start_m"], finding["end_m"])
    for mend in rows.get("mends", []):
        yield "mend", *ordered(mend["start_m"], mend["end_m"])
    for peel in rows.get("peels", []):
        if peel["at_m"] is not None:
            yield "sample", peel["at_m"], peel["at_m"]


def _count_marks(marks: dict[str, Counted], table: str, rows: Iterable[Row]) -> None:
    for row in rows:
        found = list(row["marks"])
        if row.get("carried", "{}") not in ("{}", None):
            found.append("conditions carried over")
        for name in found:
            counted = marks.setdefault(name, Counted(names=[]))
            counted.n += 1
            if len(counted.names) < 8:
                counted.names.append(row["name"] or row.get("seam") or table)
            if name in _WORST:
                counted.worst_h = max(counted.worst_h, abs(row["late_h"] or 0.0))


def _by_seam_m(rows: list[Row]) -> dict[str, float]:
    """Length of the union of stretches on each seam, m."""
    found: dict[str, list[tuple[float, float]]] = {}
    for row in rows:
        if row["end_m"] is not None:
            found.setdefault(row["seam_key"], []).append(ordered(row["start_m"], row["end_m"]))
    return {key: total(parts) for key, parts in found.items()}


def _probed_m(run: Row, walks: list[Row]) -> float:
    """How much of a run walks made after it cover, m."""
    if run["end_m"] is None:
        return 0.0
    low, high = ordered(run["start_m"], run["end_m"])
    when = (run["seen_utc"], run["tick"])
    later = union(
        ordered(w["start_m"], w["end_m"]) for w in walks if (w["seen_utc"], w["tick"]) >= when
    )
    if covers(later, (low, high)):
        return high - low
    return sum(max(0.0, min(high, b) - max(low, a)) for a, b in later)


def _other_weather(first: Row, strip: Row) -> bool:
    for column in ("sheet_c", "ambient_c"):
        a, b = first[column], strip[column]
        if a is not None and b is not None:
            return bool(abs(a - b) > _ANOTHER_WEATHER_K)
    return False


def _middle(values: Iterable[float | None]) -> float | None:
    known = sorted(v for v in values if v is not None)
    if not known:
        return None
    half = len(known) // 2
    return known[half] if len(known) % 2 else (known[half - 1] + known[half]) / 2


def _spaced(speeds: list[float]) -> list[float]:
    """Speeds to draw a curve at, a third beyond those used on either side."""
    low, high = min(speeds) / 1.35, max(speeds) * 1.35
    return [low + (high - low) * n / (_CURVE_POINTS - 1) for n in range(_CURVE_POINTS)]
