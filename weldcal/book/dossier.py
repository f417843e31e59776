"""What the warranty dossier is made from, gathered from the book.

Invariant: nothing is recorded here. Seams are read one after another, so that a
roof of ten thousand costs no more memory than its summary; what comes out is
plain: SI floats and text, with names left out where that was asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, cast

from msgspec.structs import replace

from weldcal.book import integrity
from weldcal.book.dossier_facts import Names, count_marks, si_number
from weldcal.book.faulting import probed_pieces
from weldcal.book.limits import limit_defaults
from weldcal.book.observing import Dials, hour_of, true_speed
from weldcal.book.seams import ON_SEAMS, Row
from weldcal.book.site import watch_notes
from weldcal.log import verifying
from weldcal.long_work import Beat, silent
from weldcal.row_types import FindingRow, SeamRow, WithdrawnRow
from weldcal.tables.schema import TABLES
from weldcal.views.dossier import BleedChart, Counted, DayFit, Dossier, SeamFacts
from weldcal.views.integrity import Tell
from weldcal.views.rows import Head
from weldcal.views.trace import SeamTrace
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dialling import Dialling
    from weldcal.book.job_reader import JobReader
    from weldcal.book.keeping import Keeping
    from weldcal.book.knowing import Knowing
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marks
    from weldcal.book.observing import Observing
    from weldcal.book.roof import SeamStates
    from weldcal.book.sampling import Sampling
    from weldcal.book.sealing import Sealing
    from weldcal.book.site import Site
    from weldcal.book.stock import Stock
    from weldcal.book.strips import Strips
    from weldcal.book.summing import Summing
    from weldcal.book.upkeep import Upkeep
    from weldcal.calibration import Observation


# Seams traced in full; spells of strips whose fit is drawn; control charts.
MOST_TRACED, MOST_FITS, MOST_CHARTS = 100, 30, 12


# A strip this much warmer or colder than the one before it is drawn on a chart of its own.
_ANOTHER_WEATHER_K = 8.0


_CURVE_POINTS = 25


# Where a seam comes among those with pages, if it has nothing else to tell: after all but the corrected.
_TAKEN_BACK = (1, 1, 1, 1, 1, 0)


_WEATHER = ("ambient_c", "sheet_c", "humidity_pct", "wind_m_per_s", "line_v")


# Tables told elsewhere in the dossier, or of no use on paper.
_TOLD = {
    "jobs",
    "areas",
    "sheets",
    "machines",
    "instruments",
    "people",
    "limits",
    "conditions",
    "strips",
    "readings",
    "seams",
    *ON_SEAMS,
    "advice",
    "seals",
    "handed",
    "warnings",
    "amendments",
    "withdrawn",
    "norths",
    "start_lines",
    "start_answers",
    "looks",
    "punch",
    "leaks",
    "leak_steps",
}


class Dossiers:
    """Gathers the warranty file."""

    def __init__(
        self,
        reader: JobReader,
        dialling: Dialling,
        keeping: Keeping,
        knowing: Knowing,
        limits: Limits,
        marks: Marks,
        observing: Observing,
        roof: SeamStates,
        sampling: Sampling,
        sealing: Sealing,
        site: Site,
        stock: Stock,
        strips: Strips,
        summing: Summing,
        upkeep: Upkeep,
    ) -> None:
        self._reader = reader
        self._dialling = dialling
        self._keeping = keeping
        self._knowing = knowing
        self._limits = limits
        self._marks = marks
        self._observing = observing
        self._roof = roof
        self._sampling = sampling
        self._sealing = sealing
        self._site = site
        self._stock = stock
        self._strips = strips
        self._summing = summing
        self._upkeep = upkeep

    def dossier(self, *, people: bool = True, beat: Beat = silent) -> Dossier:
        """Gather the dossier of the job.

        Args:
            people: False puts "person 1", "person 2" for names.
        """
        from weldcal import __version__

        names = self._people(people)
        faults = self._sealing.verify(beat)[1] + self._keeping.photo_faults(beat)
        beat(_("clocks"), 0, 0)
        clocks = self._keeping.clock_warnings()
        marks: dict[str, Counted] = {}
        seams = self._summing.summed(marks, beat)
        gone = self._gone()
        touched = {
            row["seam_key"] for row in (*gone, *(row for _what, row in self._roof.placed_items()))
        }
        urgent = {s.key: s.urgency or _TAKEN_BACK for s in seams if s.urgency or s.key in touched}
        wanted = sorted((s for s in seams if s.key in urgent), key=lambda s: urgent[s.key])
        beat(_("traces"), 0, 0)
        traces = self._traces([s.key for s in wanted[:MOST_TRACED]], seams)
        beat(_("doubts"), 0, 0)
        doubts = self._summing.doubts()
        strips, conditions = self._strips.strips(), self._summing.rows_of("conditions")
        count_marks(marks, "conditions", conditions)
        count_marks(marks, "strips", strips)
        fits, unfitted = self._fits(strips, beat)
        return Dossier(
            made=self._reader.now().isoformat(timespec="seconds"),
            version=__version__,
            people_shown=people,
            kinds=_fault_kinds(seams),
            pieces=probed_pieces(self._reader, self._limits),
            days=self._day_counts(),
            seams=seams,
            traces=[_without_names(one, names) for one in traces],
            untraced=max(0, len(wanted) - MOST_TRACED),
            marks=marks,
            fits=fits,
            unfitted=unfitted,
            heads=self._head_rows(),
            charts=self._bleed_charts(strips),
            doubts=doubts,
            faults=faults,
            clocks=clocks,
            north_deg=self._site.north_deg(),
            unwatched=self._unwatched(),
            integrity=self._integrity(names, seams),
            settled=self._settled_forks(names),
            withdrawn=names.all(gone),
            **self._named_rows(names, strips, conditions),
        )

    def _integrity(self, names: Names, seams: list[SeamFacts]) -> list[Tell]:
        """How independent the proof is; names that look alike may be people's."""
        told = integrity.tell(self._reader, self._marks, seams)
        if names.shown:
            return told
        return [replace(one, names=()) if one.code == "alike" else one for one in told]

    def _settled_forks(self, names: Names) -> list[str]:
        """Forks that somebody settled, in words."""
        return [
            f"{one.device} {one.seq}: {one.done} ({names(one.by)}, {one.at[:16]})"
            for one in verifying.settled_forks(self._reader.reading())
        ]

    def _named_rows(self, names: Names, strips: list[Row], conditions: list[Row]) -> dict[str, Any]:
        """All of the dossier that people's names stand in."""
        seals, bleeds = self._sealing.seals(), self._summing.rows_of("bleeds")
        for seal in seals:
            seal["handed"] = names.all(seal["handed"])
        self._roof.add_readings(bleeds)
        (job,) = self._reader.rows("SELECT * FROM jobs WHERE id = ?", (self._reader.job.id,))
        changes = self._reader.rows(
            "SELECT * FROM limits WHERE job = ? ORDER BY tick, device", (self._reader.job.id,)
        )
        return {
            "job": names.mask(job),
            "lists": self._lists(names),
            "limits": names.all(self._limits_now()),
            "limit_changes": names.all(changes),
            "strips": names.all(strips),
            "conditions": names.all(conditions),
            "runs": names.all(self._summing.rows_of("runs")),
            "bleeds": names.all(bleeds),
            "peels": names.all(self._summing.rows_of("peels")),
            "warnings": names.all(self._roof.warnings(open_only=False)),
            "amendments": names.all(self._roof.amendments()),
            "seals": names.all(seals),
            "entries": names.all(self._entry_counts()),
            **self._upkeep_of(names),
            "other": {t: names.all(self._summing.rows_of(t)) for t in TABLES if t not in _TOLD},
        }

    def _upkeep_of(self, names: Names) -> dict[str, Any]:
        """The start-up list, visits, yearly looks and leaks."""
        return {
            "start_up": [
                replace(one, answer=names.mask(one.answer)) if one.answer else one
                for one in self._upkeep.start_up()
            ],
            "looks_due": self._upkeep.looks_due(),
            "looks": names.all(self._upkeep.looks()),
            "punch": names.all(self._stock.punch_list()),
            "leaks": [
                replace(one, row=names.mask(one.row), steps=names.all(one.steps))
                for one in self._upkeep.leaks()
            ],
        }

    def findings_in_full(self, *, people: bool = True) -> Iterator[FindingRow]:
        """Every finding of the job, one after another, in the order they were seen."""
        names = self._people(people)
        rows = self._reader.reading().execute(
            "SELECT * FROM findings WHERE job = ? ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        )
        for row in rows:
            yield names.mask(cast("FindingRow", dict(row)))

    def _people(self, shown: bool) -> Names:
        """Names, those on the job's list first, so that free text is searched for them."""
        names = Names(shown)
        names.all([{"who": name} for name in self._marks.listed("people")])
        return names

    def _unwatched(self) -> list[str]:
        """Names of hot work whose end, or whole fire watch, is not recorded."""
        rows = self._summing.rows_of("hot_work")
        return [r["name"] for r in rows if all(n.code != "watch_done" for n in watch_notes(r))]

    def _lists(self, names: Names) -> dict[str, list[Row]]:
        found = {
            t: self._summing.rows_of(t)
            for t in ("areas", "sheets", "machines", "instruments", "people")
        }
        for person in found["people"]:
            person["name"] = names(person["name"])
            person["initials"] = person["initials"] if names.shown else None
        return found

    def _limits_now(self) -> list[Row]:
        defaults = limit_defaults()
        return [
            {
                "name": name,
                "means": defaults[name].means,
                "text": limit.value.text,
                "unit": limit.value.unit,
                "si": si_number(limit.value),
                "source": limit.source,
                "adopted_by": limit.adopted_by,
            }
            for name, limit in self._limits.limits().items()
        ]

    def _gone(self) -> list[WithdrawnRow]:
        """What was taken back, in that order."""
        return self._reader.select(
            WithdrawnRow,
            "SELECT * FROM withdrawn WHERE job = ? ORDER BY withdrawn_utc, tick, device",
            (self._reader.job.id,),
        )

    def _entry_counts(self) -> list[Row]:
        """Entries by who typed them and kind."""
        return self._reader.rows(
            "SELECT json_extract(body, '$.who') AS who, kind, count(*) AS n, "
            "min(json_extract(body, '$.at')) AS first, max(json_extract(body, '$.at')) AS last "
            "FROM entries WHERE job = ? OR id = ? GROUP BY 1, 2 ORDER BY 1, 2",
            (self._reader.job.id, self._reader.job.id),
        )

    def _day_counts(self) -> dict[str, dict[str, int]]:
        """For each day something was seen on: how many records of each table."""
        found: dict[str, dict[str, int]] = {}
        for table in ("conditions", "strips", *ON_SEAMS):
            for row in self._reader.rows(
                f"SELECT day, count(*) AS n FROM {table} WHERE job = ? GROUP BY day",
                (self._reader.job.id,),
            ):
                found.setdefault(row["day"], {})[table] = row["n"]
        return dict(sorted(found.items()))

    def _head_rows(self) -> list[Head]:
        """The last entry of every device."""
        return self._reader.select(
            Head,
            "SELECT device, seq, hash FROM entries e WHERE seq = "
            "(SELECT max(seq) FROM entries WHERE device = e.device) ORDER BY device, hash",
        )

    def _traces(self, keys: list[str], seams: list[SeamFacts]) -> list[SeamTrace]:
        """Traces of these seams, in this order, as `trace` gives them."""
        if not keys:
            return []
        places = ", ".join("?" * len(keys))
        flat = {
            table: self._reader.rows(
                f"SELECT * FROM {table} WHERE job = ? AND seam_key IN ({places}) "
                "ORDER BY seen_utc, tick, device",
                (self._reader.job.id, *keys),
            )
            for table in ON_SEAMS
        }
        rows = self._summing.sorted_out(flat)
        listed = {row["seam_key"]: row for row in reversed(self._roof.seams())}
        facts = {s.key: s for s in seams}
        return [
            SeamTrace(
                key=key,
                name=facts[key].name,
                seam=(seam := cast("SeamRow | None", listed.get(key))),
                state=facts[key].state,
                flags=list(facts[key].flags),
                disagreements=[self._roof.apart(one) for one in facts[key].disagreements],
                events=self._roof.events(seam, rows.get(key, {})),
            )
            for key in keys
        ]

    def _bleed_charts(self, strips: list[Row]) -> list[BleedChart]:
        """Control charts of the latest go-aheads with two bleed checks or more on their runs."""
        checks = self._sampling.checks_on_go_aheads()
        charted = [s for s in strips if len(checks.get(s["id"], [])) > 1][-MOST_CHARTS:]
        return [self._sampling.charted(s, checks[s["id"]]) for s in charted]

    def _fits(self, strips: list[Row], beat: Beat) -> tuple[list[DayFit], int]:
        """The latest spells' fits, oldest first, and how many were left out."""
        spells = self._spells(strips)
        drawn = spells[-MOST_FITS:]
        runs = self._runs_by_strip() if drawn else {}
        observations = self._observing.observations() if drawn else []
        dials = self._observing.dials()
        fitted: dict[Any, Any] = {}
        fits = []
        for n, spell in enumerate(drawn):
            beat(_("fits"), n, len(drawn))
            fit = self._fit_of(spell, observations, runs, dials, fitted)
            if fit is not None:
                fits.append(fit)
        return fits, len(spells) - len(drawn)

    def _spells(self, strips: list[Row]) -> list[list[Row]]:
        """Strips of sheets judged by bleed-out, parted by day, kind and weather."""
        by_bond = {
            r["name"]
            for r in self._reader.rows(
                "SELECT name, judged_by FROM sheets WHERE job = ?", (self._reader.job.id,)
            )
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
        for run in self._reader.rows(
            "SELECT * FROM runs WHERE job = ? AND go_ahead IS NOT NULL ORDER BY seen_utc, tick, device",
            (self._reader.job.id,),
        ):
            found.setdefault(run["go_ahead"], []).append(run)
        return found

    def _fit_of(
        self,
        spell: list[Row],
        observations: list[Observation],
        runs: dict[str, list[Row]],
        dials: Dials,
        fitted: dict[Any, Any],
    ) -> DayFit | None:
        from weldcal.calibration import Question, fit

        last = spell[-1]
        dial, machine = dials.at(last["machine"], last["seen_utc"])
        if machine is None:
            return None
        speeds = [(s, true_speed(s, dial)) for s in spell]
        known = [(s, v) for s, v in speeds if v is not None and s["nozzle_c"] is not None]
        if not known:
            return None
        window = self._dialling.window(last["sheet"], last["seen_utc"])
        at = {c: _middle(s[c] for s, _v in known) for c in _WEATHER}
        question = Question(
            day=last["day"],
            machine=last["machine"],
            sheet=last["sheet"],
            lap=last["lap"],
            nozzle_c=known[-1][0]["nozzle_c"],
            rated_v=machine["rated_v"],
            hour=hour_of(last["seen_local"]),
            **at,  # type: ignore[arg-type]
        )
        used = [
            (run["seam"], true_speed(run, dial), abs(run["end_m"] - run["start_m"]))
            for strip in spell
            for run in runs.get(strip["id"], [])
            if run["end_m"] is not None
        ]
        moved = [(seam, v, length) for seam, v, length in used if v is not None]
        key = (window, last["machine"], last["sheet"])
        if key not in fitted:
            firm, _rests = self._knowing.firm_knows(last["machine"], last["sheet"], window)
            fitted[key] = fit(observations, window, known=firm)
        along = _spaced([v for _s, v in known] + [v for _seam, v, _l in moved])
        forecasts = fitted[key].forecast(question, along, question.nozzle_c, window)
        return DayFit(
            day=last["day"],
            machine=last["machine"],
            sheet=last["sheet"],
            lap=last["lap"],
            nozzle_c=question.nozzle_c or 0.0,
            at=at,
            low_mm=window.low_mm,
            aim_mm=window.aim_mm,
            high_mm=window.high_mm,
            strips=len(known),
            points=[
                (s["name"], v, mm, not s["shortfalls"]) for s, v in known for mm in s["widths_mm"]
            ],
            curve=[
                (f.speed_m_per_min, f.width_mm, f.width_low_mm, f.width_high_mm) for f in forecasts
            ],
            used=moved,
            firm_jobs=len(fitted[key].known.knowledge.jobs) if fitted[key].known else 0,
        )


def _without_names(found: SeamTrace, names: Names) -> SeamTrace:
    """A trace as it may be handed on: names put out where they are not to be shown."""
    return replace(
        found,
        disagreements=[names.mask(one) for one in found.disagreements],
        events=[replace(event, row=names.mask(event.row)) for event in found.events],
    )


def _fault_kinds(seams: list[SeamFacts]) -> list[tuple[str, int]]:
    """Kinds of fault on probed lap and how many, the most frequent first."""
    found: Counter[str] = Counter()
    for seam in seams:
        found.update(seam.probed_faults)
    return sorted(found.items(), key=lambda kind: (-kind[1], kind[0]))


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
