"""Is the go-ahead still good? What the record holds, handed to `quality.standing`.

Invariant: the rules are the program's, their numbers the job's limits where the
job adopted its own; each says where it comes from.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, TypedDict

from msgspec.structs import replace

from weldcal.book.core import Service
from weldcal.book.hiding import in_reach, spells_of
from weldcal.book.job_reader import AS_SEEN
from weldcal.book.standing_events import event, read_then, run_events, strip_event
from weldcal.book.sunlit import Sunlit
from weldcal.book.trials import machine_out, tried
from weldcal.errors import NoneYet
from weldcal.quality.go_ahead_rules import RULES, STOPS, STRIP_AGAIN, Rule
from weldcal.quality.goahead import CLEAN, same_setting, speaks_against
from weldcal.quality.standing import LaterEvent, Trigger, Value, Weather, stands, triggers
from weldcal.records.times import seconds, stamp, zone
from weldcal.row_types.strips import ConditionsRow, StripRow
from weldcal.row_types.work import BleedRow, PeelRow, RunRow
from weldcal.rules.welded import moment
from weldcal.tables.columns import utc
from weldcal.views.go_ahead import GoAhead
from weldcal.views.rows import TriedStrip
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.last_read import LastRead
    from weldcal.book.limits import Limits
    from weldcal.book.runs import Runs
    from weldcal.book.strips import Strips
    from weldcal.quality.stop_rules import Air


class _Rated(TypedDict):
    name: str
    rated_v: float | None


class GoAheads(Service):
    """How a go-ahead stands, and what waits."""

    _reader: JobReader
    _limits: Limits
    _runs: Runs
    _last_read: LastRead
    _strips: Strips
    _sunlit: Sunlit

    def rules(self, of: tuple[Rule, ...] = RULES) -> tuple[Rule, ...]:
        """The rules with the job's own numbers where it adopted some.

        Args:
            of: those asked about.
        """
        return self._limits.rules(of)

    def go_ahead_stands(
        self,
        machine: str | None = None,
        sheet: str | None = None,
        lap: str | None = None,
        at: str | None = None,
        extra: LaterEvent | None = None,
        *,
        hand: str | None = None,
    ) -> GoAhead:
        """How the newest go-ahead stands (of a machine, sheet and lap kind, where given).

        Args:
            machine, sheet, lap: what the go-ahead is for.
            at: the time asked about, ISO 8601; now, where not given.
            extra: something about to happen: a run to be started.
            hand: of this person's hand strips, instead of a machine's.

        Raises:
            NoneYet: no strip has met the limits.
        """
        now = at or stamp(self._reader.now())
        passed = [
            strip
            for strip in self._strips.passed(utc(now), by_hand=hand is not None)
            if machine in (None, strip["machine"])
            and sheet in (None, strip["sheet"])
            and lap in (None, strip["lap"])
            and hand in (None, strip["seen_by"])
        ]
        if not passed:
            raise NoneYet(what=_("go-ahead"), then=_("Run a strip: weldcal strip record"))
        named = {"other_machine": machine, "other_sheet": sheet, "other_lap": lap}
        return _as_named(self.verdict_on(passed[0], now, extra), named, seconds(now))

    def by_hand(self) -> list[GoAhead]:
        """Who may weld by hand, with what, on what: each key's newest strip that met the limits."""
        now = stamp(self._reader.now())
        newest: dict[tuple[str, ...], TriedStrip] = {}
        for strip in self._strips.passed(utc(now), by_hand=True):
            key = (strip["seen_by"], strip["machine"], strip["sheet"], strip["lap"])
            newest.setdefault(key, strip)
        return [self.verdict_on(strip, now) for _key, strip in sorted(newest.items())]

    def verdict_on(self, strip: TriedStrip, now: str, extra: LaterEvent | None = None) -> GoAhead:
        """How one go-ahead stands: the only answer to whether a lap may be welded on it.

        Args:
            strip: the row of a strip that met the limits.
            now: the time asked about.
            extra: something about to happen: a run to be started.
        """
        events, seams = self._since(strip)
        today = self._strips.day_of(now)
        if today != strip["day"]:  # the new day began when it began, not when somebody asks
            events.append(LaterEvent(self._day_start(now), today, "day"))
        if out := self._out(strip, now):
            events.append(out)
        if extra is not None:  # later than some, where it is typed late or a clock was set back
            events.append(extra)
        events.sort(key=lambda event: event.at_s)
        read = extra is not None and extra.weather.sheet_c is not None
        given = (extra.at_s, extra.weather.sheet_c) if read and extra is not None else None
        moved = triggers(
            strip_event(strip),
            events,
            seconds(now),
            today,
            self.rules(),
            self._sunlit.sheet_read_s(now, given),
            self._sunlit.reading_holds_h(strip, now, given, self.rules()),
        )
        first = self._first_day(strip, now, today)
        waits = self.waits(now, extra, machine=strip["machine"])
        found = (*_without_repeats(moved), *first, *waits)
        return GoAhead(strip, stands(found), found, seams)

    def _out(self, strip: StripRow, now: str) -> LaterEvent | None:
        """The machine of a strip taken out, as an event since the strip."""
        found = machine_out(
            self._reader,
            self._limits,
            self._strips,
            strip["machine"],
            utc(now),
            by_hand=bool(strip["by_hand"]),
        )
        if found is None:
            return None
        return LaterEvent(
            max(found.since_s, seconds(strip["seen_local"])),
            strip["day"],
            "machine_out",
            name=", ".join(found.strips),
            left=found.left,
        )

    def _first_day(self, strip: TriedStrip, now: str, today: str) -> tuple[Trigger, ...]:
        """On a sheet's first day: fewer strips passed at the go-ahead's setting than the job asks."""
        limit = self._limits.limits()["first_day_strips"]
        least = int(limit.value.number)
        if least <= 1 or strip["day"] != today or strip["by_hand"]:
            return ()
        same = [s for s in self._strips.passed(utc(now)) if s["sheet"] == strip["sheet"]]
        if any(s["day"] < today for s in same):
            return ()
        passed_today = [s for s in same if s["day"] == today and _one_setting(s, strip)]
        if len(passed_today) >= least:
            return ()
        values: dict[str, Value] = {
            "was": None,
            "now": float(len(passed_today)),
            "limit": float(least),
        }
        since = seconds(strip["seen_local"])
        return (Trigger("first_day", STRIP_AGAIN, since, None, values, (), limit.source),)

    def waits(
        self,
        at: str | None = None,
        extra: LaterEvent | None = None,
        given: dict[str, float] | None = None,
        machine: str | None = None,
    ) -> tuple[Trigger, ...]:
        """Stop rules that the conditions last read break: nobody welds until they are over.

        Args:
            at: the time asked about; now, where not given.
            extra: a run about to be started, with what was read for it.
            given: conditions to judge instead of those last read, in SI by column.
            machine: whose rated voltage counts; the only one listed, where not given.
        """
        from weldcal.quality.stop_rules import stops

        air = self.air_now(at or stamp(self._reader.now()), extra)
        typed = {name: v for name, v in (given or {}).items() if name in _AIR.values()}
        return stops(replace(air, **typed, rated_v=self._rated(machine)), self.rules(STOPS))

    def _rated(self, machine: str | None) -> float | None:
        """The voltage that a machine (the only one listed) is built for, where somebody said."""
        rows = self._reader.part(_Rated, "machines")
        volts = [r["rated_v"] for r in rows if machine in (r["name"], None)]
        return volts[0] if len(volts) == 1 else None

    def air_now(self, at: str, extra: LaterEvent | None = None) -> Air:
        """Conditions as last read before a time, or read with what is about to happen.

        Args:
            at: the time, ISO 8601.
            extra: a run about to be started, with what was read for it.
        """
        from weldcal.quality.stop_rules import Air

        last = self._last_read.conditions(at)
        times = [seconds(read_at) for _value, read_at in last.values()]
        value = {name: last[name][0] if name in last else None for name in _AIR}
        weather = extra.weather if extra is not None else Weather()
        for name in ("ambient", "sheet_temp", "wind", "line_voltage"):
            given = getattr(weather, _AIR[name])
            value[name] = value[name] if given is None else given
        return Air(
            read_s=max(times, default=seconds(at)),
            damp=self._last_read.noted_damp(at),
            **{_AIR[name]: read_value for name, read_value in value.items()},
        )

    def _day_start(self, at: str) -> float:
        """When the job's day of a time began, seconds."""
        begins = self._reader.job.day_begins
        local = datetime.fromisoformat(at).astimezone(zone(self._reader.job.zone))
        day = (local - timedelta(hours=begins)).date()
        return datetime(
            day.year, day.month, day.day, begins, tzinfo=zone(self._reader.job.zone)
        ).timestamp()

    def _since(self, strip: TriedStrip) -> tuple[list[LaterEvent], dict[str, str]]:
        """What happened since a strip to the crew on its machine, in order; seams of its runs."""
        runs = self._runs_since(strip)
        events = [
            *self._read_since(strip),
            *self._failed_since(strip),
            *(event for run in runs for event in run_events(run)),
            *self._looked_since(strip, {run["id"] for run in runs}),
            *self._pulled_since(strip, {run["id"] for run in runs}),
        ]
        return sorted(events, key=lambda event: event.at_s), {r["id"]: r["seam"] for r in runs}

    def _runs_since(self, strip: StripRow) -> list[RunRow]:
        """The crew that stands on it: its runs, and its machine's that stand on nothing else."""
        return self._reader.of_job(
            RunRow,
            "AND seen_utc >= ? AND by_hand = ? "
            f"AND (go_ahead = ? OR (machine = ? AND go_ahead IS NULL)) {AS_SEEN}",
            strip["seen_utc"],
            strip["by_hand"],
            strip["id"],
            strip["machine"],
        )

    def _read_since(self, strip: StripRow) -> list[LaterEvent]:
        """Conditions read later."""
        reads = self._reader.of_job(ConditionsRow, "AND seen_utc >= ?", strip["seen_utc"])
        return [event(row, "read", read_then(row)) for row in reads]

    def _looked_since(self, strip: StripRow, on: set[str]) -> list[LaterEvent]:
        """Later bleed checks of runs, by their ids."""
        checks = self._reader.of_job(BleedRow, "AND seen_utc >= ?", strip["seen_utc"])
        bleeds = [(c, r) for c, r in self._runs.with_runs(checks) if r and r["id"] in on]
        bleeds.sort(key=lambda pair: moment(pair[0]))
        events, spells = [], spells_of(self._reader)
        failed = self._runs.fail_outright(bleeds)
        for (check, run), at_once in zip(bleeds, failed, strict=True):
            kind = "outside" if self._runs.check_shortfalls(check, run) else "looked"
            at = (check["at_m"], check["at_m"])
            hidden = spells.get(check["seam_key"], [])
            if kind == "looked" and not in_reach(
                hidden, at, check["seen_utc"], check["entered_utc"]
            ):
                continue  # nobody sees what the next ply hides
            events.append(event(check, kind))
            if at_once:
                events.append(replace(event(check, "check_failed"), name=check["name"]))
        return events

    def _pulled_since(self, strip: StripRow, on: set[str]) -> list[LaterEvent]:
        """Later peel samples, of the strip or of runs by their ids, that parted at the lap."""
        peels = self._reader.of_job(
            PeelRow, "AND seen_utc >= ? AND parted = ?", strip["seen_utc"], CLEAN
        )
        return [
            replace(event(peel, "pull_failed"), name=peel["name"])
            for peel, run in self._runs.with_runs(peels)
            if peel["strip"] == strip["id"] or (run and run["id"] in on)
        ]

    def _failed_since(self, strip: TriedStrip) -> list[LaterEvent]:
        """Later strips that failed and speak against this one."""
        rows = self._reader.of_job(
            StripRow,
            "AND machine = ? AND sheet = ? AND lap = ? AND by_hand = ? "
            f"AND (seen_by = ? OR NOT by_hand) AND (seen_utc, tick) > (?, ?) {AS_SEEN}",
            strip["machine"],
            strip["sheet"],
            strip["lap"],
            strip["by_hand"],
            strip["seen_by"],
            strip["seen_utc"],
            strip["tick"],
        )
        return [
            LaterEvent(seconds(row["seen_local"]), row["day"], "strip_failed", name=row["name"])
            for row in self._strips.judged(rows)
            if speaks_against(tried(row), tried(strip))
        ]


_AIR = {
    "ambient": "ambient_c",
    "sheet_temp": "sheet_c",
    "humidity": "humidity_pct",
    "wind": "wind_m_per_s",
    "gust": "gust_m_per_s",
    "roll_temp": "roll_c",
    "line_voltage": "line_v",
}


def _as_named(go_ahead: GoAhead, named: dict[str, str | None], now_s: float) -> GoAhead:
    """Its verdict for the kind that was named: what was welded otherwise is over when a lap of
    that kind begins, as it is for the run that begins."""
    found = tuple(
        replace(t, until_s=now_s) if t.until_s is None and named.get(t.code) else t
        for t in go_ahead.triggers
    )
    return replace(go_ahead, level=stands(found), triggers=found)


def _one_setting(a: TriedStrip, b: TriedStrip) -> bool:
    """Whether two strips were made for one thing and at one setting."""
    same = (a["machine"], a["lap"]) == (b["machine"], b["lap"])
    return same and same_setting(tried(a), tried(b))


def _without_repeats(moved: tuple[Trigger, ...]) -> tuple[Trigger, ...]:
    """Without the looks whose cause calls for a strip: a bleed check cannot bring that back."""
    void = {t.code for t in moved if t.level == STRIP_AGAIN and t.until_s is None}
    return tuple(t for t in moved if t.level == STRIP_AGAIN or t.code not in void)
