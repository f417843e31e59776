"""Is the go-ahead still good? Two levels: look, and strip again.

Invariant: weather, power and time that once called for a new strip go on
calling for it, whatever is read later; a look is over when somebody looked, or
when the cause has gone. A value must stay moved for `LASTS_S` before it calls
for a strip, so that a passing cloud calls nobody off. A run made otherwise than
the strip (another machine, sheet, operator) is not covered by it; the next one
made as the strip was is.

Each rule says since when, with what numbers, and which runs were welded after it.

Events are those of the crew that stands on this go-ahead, in order of time; times are
seconds since any one epoch, days the job's own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from weldcal.quality.go_ahead_rules import GOOD, LEVELS, LOOK, RULES, STRIP_AGAIN, Rule

LASTS_S = 600.0
# A look at a moved value is over when it is back within this share of the threshold.
BACK_WITHIN = 0.8

Value = float | str | None


class Weather(Struct, frozen=True):
    """Conditions as read; None is "not read"."""

    ambient_c: float | None = None
    sheet_c: float | None = None
    wind_m_per_s: float | None = None
    line_v: float | None = None


class WeldSetup(Struct, frozen=True):
    """Machine, sheet, people and setting; None is "not said"."""

    machine: str | None = None
    sheet: str | None = None
    lap: str | None = None
    nozzle_width_mm: float | None = None
    nozzle_c: float | None = None
    speed_m_per_min: float | None = None
    roll_lot: str | None = None
    operator: str | None = None
    dial_mark: float | None = None
    air_flow_pct: float | None = None
    roller_load_n: float | None = None

    @property
    def speed(self) -> float | None:
        """Travel speed, m/min; the bare mark of a dial that is tied to no speed."""
        return self.dial_mark if self.speed_m_per_min is None else self.speed_m_per_min


class LaterEvent(Struct, frozen=True):
    """Something that happened after the strip.

    Attributes:
        kind: start, finish (of `run`), read (conditions), power_lost, looked (a bleed check
            within the limits), outside (one not), check_failed (one no look can mend), pull_failed
            (a sample parted at the lap), strip_failed (`name`), machine_out (by strips of `name`;
            `left` more to pass, None with no cause named) or day (a new one began).
        weather, setup: what was read or set with it.
    """

    at_s: float
    day: str
    kind: str
    run: str | None = None
    weather: Weather = Weather()
    setup: WeldSetup = WeldSetup()
    name: str | None = None
    left: int | None = None


class Trigger(Struct, frozen=True):
    """A rule that was broken.

    Attributes:
        since_s, until_s: when; `until_s` is None while it holds.
        values: "was", "now" and "limit" in the rule's unit.
        runs: welded wholly or in part within that time, in order.
    """

    code: str
    level: str
    since_s: float
    until_s: float | None
    values: dict[str, Value]
    runs: tuple[str, ...]
    source: str


class _Broken(Struct, frozen=True):
    """One broken stretch of a rule, before its runs are known."""

    since_s: float
    until_s: float | None
    values: dict[str, Value]


_Check = Callable[[Rule, "_Story"], Iterator[_Broken]]


def triggers(
    strip: LaterEvent,
    events: Sequence[LaterEvent],
    now_s: float,
    today: str,
    rules: Sequence[Rule] = RULES,
    read_s: float | None = None,
    read_holds_h: float | None = None,
) -> tuple[Trigger, ...]:
    """Every rule broken since the strip, those that are over included, in order of time.

    Args:
        strip: time, day, weather and setup of the strip itself.
        events: what happened since, in order; none later than `now_s` is counted.
        read_s: when the sheet (the air, where nobody reads the sheet) was last read.
        read_holds_h: hours after which sun and hour alone may have taken the sheet past the
            next step; None where they do not within the rule's own.

    Raises:
        ValueError: events out of order.
        KeyError: a rule of unknown code.
    """
    if any(a.at_s > b.at_s for a, b in pairwise(events)):
        raise ValueError("events come in order of time")
    past = [event for event in events if strip.at_s <= event.at_s <= now_s]
    story = _Story(strip, past, now_s, today, read_s, read_holds_h)
    found = []
    for rule in rules:
        for broken in _CHECKS[rule.code](rule, story):
            times = (broken.since_s, broken.until_s)
            runs = story.runs_within(*times)
            found.append(Trigger(rule.code, rule.level, *times, broken.values, runs, rule.source))
    return tuple(sorted(found, key=lambda trigger: trigger.since_s))


def stands(found: Sequence[Trigger]) -> str:
    """What the triggers that still hold call for: the worst of their levels."""
    held = [trigger.level for trigger in found if trigger.until_s is None]
    return max(held, key=LEVELS.index, default=GOOD)


class _Story:
    """What happened since the strip, looked at one thing at a time."""

    def __init__(
        self,
        strip: LaterEvent,
        events: list[LaterEvent],
        now_s: float,
        today: str,
        read_s: float | None,
        read_holds_h: float | None,
    ) -> None:
        self.strip, self.events, self.now_s, self.today = strip, events, now_s, today
        self.read_s, self.read_holds_h = read_s, read_holds_h
        self.starts = [event for event in events if event.kind == "start"]
        finish = {e.run: e.at_s for e in events if e.kind == "finish"}
        self._spans = [(e.run, e.at_s, finish.get(e.run)) for e in self.starts if e.run]

    def runs_within(self, since_s: float, until_s: float | None) -> tuple[str, ...]:
        """Runs welded wholly or in part between two times."""
        return tuple(
            run
            for run, start, finish in self._spans
            if (finish is None or finish > since_s) and (until_s is None or start < until_s)
        )

    def look_after(self, at_s: float) -> float | None:
        """When somebody first looked after a time."""
        looks = (event.at_s for event in self.events if event.kind == "looked")
        return next((look for look in looks if look > at_s), None)

    def stops(self) -> Iterator[tuple[float, float]]:
        """(from, to) of each time without a run in progress, once one was finished."""
        welding: set[str | None] = set()
        since: float | None = None
        for event in self.events:
            # A finish without its start ends a stop too: something was welded.
            if event.kind in ("start", "finish") and since is not None and not welding:
                yield since, event.at_s
            if event.kind == "start":
                welding.add(event.run)
            elif event.kind == "finish":
                welding.discard(event.run)
                since = event.at_s
        if since is not None and not welding:
            yield since, self.now_s


def _new_day(_rule: Rule, story: _Story) -> Iterator[_Broken]:
    days = [(event.at_s, event.day) for event in story.events] + [(story.now_s, story.today)]
    for at_s, day in days:
        if day != story.strip.day:
            yield _Broken(at_s, None, {"was": story.strip.day, "now": day, "limit": None})
            return


def _hours_passed(rule: Rule, story: _Story) -> Iterator[_Broken]:
    """A look starts the hours of looks anew; only a strip starts those of strips."""
    limit = rule.threshold or 0.0
    base: float | None = story.strip.at_s
    while base is not None:
        after = story.look_after(base) if rule.level == LOOK else None
        hours = ((story.now_s if after is None else after) - base) / 3600.0
        if hours >= limit:
            values: dict[str, Value] = {"was": None, "now": hours, "limit": limit}
            yield _Broken(base + limit * 3600.0, after, values)
        base = after


def _stopped(rule: Rule, story: _Story) -> Iterator[_Broken]:
    limit = rule.threshold or 0.0
    for start, end in story.stops():
        minutes = (end - start) / 60.0
        if minutes >= limit:
            since = start + limit * 60.0
            until = story.look_after(since) if rule.level == LOOK else None
            yield _Broken(since, until, {"was": None, "now": minutes, "limit": limit})


def _whenever(rule: Rule, story: _Story) -> Iterator[_Broken]:
    """Broken for good by each event that has the rule's code; its name is given, if it has one."""
    for event in story.events:
        if event.kind == rule.code:
            yield _Broken(event.at_s, None, {"was": None, "now": event.name, "limit": None})


def _machine_out(_rule: Rule, story: _Story) -> Iterator[_Broken]:
    """Taken out until a cause is named and strips have passed; what is left of that."""
    for event in story.events:
        if event.kind == "machine_out":
            left = None if event.left is None else float(event.left)
            machine = story.strip.setup.machine
            yield _Broken(event.at_s, None, {"was": event.name, "now": machine, "limit": left})


def _reading_age(rule: Rule, story: _Story) -> Iterator[_Broken]:
    """The last reading is too old to weld by; where nobody ever read, there is none to age.

    "was" is "sun" where sun and hour make the rule's hours less.
    """
    limit = rule.threshold or 0.0
    if story.read_s is None:
        return
    holds = limit if story.read_holds_h is None else min(limit, story.read_holds_h)
    hours = (story.now_s - story.read_s) / 3600.0
    if hours >= holds:
        was = "sun" if holds < limit else None
        values: dict[str, Value] = {"was": was, "now": hours, "limit": holds}
        yield _Broken(story.read_s + holds * 3600.0, None, values)


def _check_outside(_rule: Rule, story: _Story) -> Iterator[_Broken]:
    """From a bleed check outside the limits until the next one that is inside."""
    looks: list[float | None] = []
    for event in story.events:
        if event.kind == "outside" and (after := story.look_after(event.at_s)) not in looks:
            looks.append(after)
            yield _Broken(event.at_s, after, {"was": None, "now": None, "limit": None})


def _moved(part: Callable[[LaterEvent], float | None], share: bool = False) -> _Check:
    """A rule about weather or power that moves away from the strip's, in its unit or in %."""

    def check(rule: Rule, story: _Story) -> Iterator[_Broken]:
        was = part(story.strip)
        if was is None or (share and was == 0):
            return iter(())
        scale = 100.0 / abs(was) if share else 1.0
        limit = (rule.threshold or 0.0) / scale
        how = _lasting if rule.level == STRIP_AGAIN else _passing
        broken = how(part, was, limit, story)
        return (
            _Broken(t.since_s, t.until_s, {**t.values, "limit": rule.threshold}) for t in broken
        )

    return check


def _lasting(
    part: Callable[[LaterEvent], float | None], was: float, limit: float, story: _Story
) -> Iterator[_Broken]:
    """The first time a value stays beyond the limit for `LASTS_S`: it never ends.

    A reading stands until the next one.
    """
    since: tuple[float, float] | None = None
    for event in story.events:
        value = part(event)
        if value is None:
            continue
        if since is not None and event.at_s - since[0] >= LASTS_S:
            break
        if abs(value - was) < limit:
            since = None
        elif since is None:
            since = event.at_s, value
    if since is not None and story.now_s - since[0] >= LASTS_S:
        yield _Broken(since[0], None, {"was": was, "now": since[1]})


def _passing(
    part: Callable[[LaterEvent], float | None], was: float, limit: float, story: _Story
) -> Iterator[_Broken]:
    """Each time a value is beyond the limit, until it is back or somebody looked.

    Whoever looked saw the lap in the weather of that moment: moves count from it afterwards.
    """
    last, since = was, None
    for event in story.events:
        value = part(event)
        last = last if value is None else value
        looked = event.kind == "looked"
        if since is not None and (looked or abs(last - was) < BACK_WITHIN * limit):
            yield _Broken(since[0], event.at_s, {"was": was, "now": since[1]})
            since = None
        if looked:
            was = last
        elif since is None and value is not None and abs(value - was) >= limit:
            since = event.at_s, value
    if since is not None:
        yield _Broken(since[0], None, {"was": was, "now": since[1]})


def _other(part: Callable[[WeldSetup], Value], least: float = 0.0, share: bool = False) -> _Check:
    """A rule about how a run is made: it holds while runs are made otherwise than the strip was.

    Numbers differ from the rule's threshold on, or from `least` where it has none.
    """

    def differs(rule: Rule, was: Value, now: Value) -> bool:
        if not isinstance(was, float | int) or not isinstance(now, float | int):
            return was != now
        scale = 100.0 / abs(was) if share and was else 1.0
        return abs(now - was) * scale >= (least if rule.threshold is None else rule.threshold)

    def check(rule: Rule, story: _Story) -> Iterator[_Broken]:
        was = part(story.strip.setup)
        since: tuple[float, Value] | None = None
        for start in story.starts:
            now = part(start.setup)
            if was is None or now is None:
                continue
            if not differs(rule, was, now):
                if since is not None:
                    yield _broken_otherwise(rule, story, was, since, start.at_s)
                since = None
            elif since is None:
                since = start.at_s, now
        if since is not None:
            yield _broken_otherwise(rule, story, was, since, None)

    return check


def _broken_otherwise(
    rule: Rule, story: _Story, was: Value, since: tuple[float, Value], until_s: float | None
) -> _Broken:
    look = story.look_after(since[0]) if rule.level == LOOK else None
    ends = [at for at in (look, until_s) if at is not None]
    values: dict[str, Value] = {"was": was, "now": since[1], "limit": rule.threshold}
    return _Broken(since[0], min(ends, default=None), values)


_CHECKS: dict[str, _Check] = {
    "new_day": _new_day,
    "hours_passed": _hours_passed,
    "stopped": _stopped,
    "power_lost": _whenever,
    "strip_failed": _whenever,
    "machine_out": _machine_out,
    "check_outside": _check_outside,
    "check_failed": _whenever,
    "pull_failed": _whenever,
    "reading_age": _reading_age,
    "ambient_moved": _moved(lambda event: event.weather.ambient_c),
    "sheet_moved": _moved(lambda event: event.weather.sheet_c),
    "wind_moved": _moved(lambda event: event.weather.wind_m_per_s),
    "voltage_moved": _moved(lambda event: event.weather.line_v, share=True),
    "nozzle_temperature": _other(lambda setup: setup.nozzle_c),
    "travel_speed": _other(lambda setup: setup.speed, share=True),
    "air_flow": _other(lambda setup: setup.air_flow_pct, share=True),
    "roller_load": _other(lambda setup: setup.roller_load_n, share=True),
    "other_machine": _other(lambda setup: setup.machine),
    "other_nozzle": _other(lambda setup: setup.nozzle_width_mm, least=0.5),
    "other_sheet": _other(lambda setup: setup.sheet),
    "other_lap": _other(lambda setup: setup.lap),
    "other_operator": _other(lambda setup: setup.operator),
    "other_roll_lot": _other(lambda setup: setup.roll_lot),
}
