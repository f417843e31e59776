"""The operator's day: conditions, cautions, strip, pull when cold, dial, laps.

Invariant: a step comes next because of what the book lacks, never because of
what was typed before. Enter alone starts a lap only on a go-ahead that nothing is
against, and never says that a machine reached the end.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from weldcal.flow import site, strips, weather
from weldcal.flow.question import WORD, Call, Calls, Given, Question, Step, answered, got, with_unit
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.quality.go_ahead_rules import GOOD, WAIT, permits
from weldcal.records.day import Day, DayLap, TypedSetting
from weldcal.records.fields import says_end
from weldcal.words import mark

_SET = TypedSetting.__struct_fields__


def _start(day: Day, given: Given) -> Iterator[Question]:
    first = day.to_weld[0] if day.to_weld else None
    yield Question(
        "weld",
        "name",
        _which(first),
        mark("Any seam's name may be typed, listed or not."),
        option=WORD,
        choices=tuple(lap.seam for lap in day.to_weld),
        default=first.seam if first else None,
        values={"seam": first.seam, "start": first.start} if first else {},
    )
    lap = _lap_of(day.to_weld, got(given, "weld"))
    yield Question(
        "start",
        "value",
        mark("From where"),
        field="distance",
        option="--from",
        unsaid="0",
        default=lap.start if lap else "0",
    )
    if day.needs.new_roll:
        yield Question(
            "roll_lot",
            "name",
            mark("A new roll? Its lot"),
            mark("As printed on the wrapper. Another lot is a reason to look at the weld."),
            option="--roll-lot",
            choices=day.needs.lots,
            optional=True,
        )
    yield from _hand(day, given) if lap and lap.by_hand else _by_machine(day, given)


def _which(lap: DayLap | None) -> str:
    if lap is None:
        return mark("Which seam do you weld?")
    return mark("Weld next") if lap.start == "0" else mark("Weld {seam} on from {start}")


def _by_machine(day: Day, given: Given) -> Iterator[Question]:
    """The go-ahead's setting, or another."""
    usual = _usual(day, given)
    if usual:
        yield Question(
            "same_setting",
            "choice",
            mark("Start {seam} at {nozzle}, {speed}?"),
            seen=True,
            choices=("yes", "no"),
            default="yes" if _good(day) else None,
            values={"nozzle": usual.nozzle, "speed": usual.speed, "seam": got(given, "weld") or ""},
        )
    if not usual or got(given, "same_setting") == "no":
        yield from strips.things(day)
        yield from strips.setting(day, given, usual)
        good = _good(day)
        yield Question(
            "confirm_start",
            "confirm" if good else "agree",
            mark("Start {weld} at {nozzle}, {speed}. Enter records it")
            if good
            else mark("No good go-ahead. Start {weld} at {nozzle}, {speed} all the same? Type yes"),
            seen=True,
            values=strips.setting_in_words(day, given),
        )


def _hand(day: Day, given: Given) -> Iterator[Question]:
    """A detail: which tool, how hot. What its hand strip shows is reported when it is recorded."""
    yield from strips.hand_things(day)
    heat = with_unit(got(given, "nozzle") or "", "nozzle", day.units)
    yield Question(
        "agree_hand",
        "agree",
        mark("Start {weld} by hand with {tool} at {nozzle}? Type yes"),
        seen=True,
        values={"nozzle": heat},
    )


def _good(day: Day) -> bool:
    return day.standing is not None and day.standing.level == GOOD


def _start_implied(day: Day, given: Given) -> dict[str, str | None]:
    """A seam not begun is begun at its zero end; the setting asked about stays the one that was shown."""
    if not answered(given, "weld"):
        return {}
    lap = _lap_of(day.to_weld, got(given, "weld"))
    start: dict[str, str | None] = {"start": "0"} if lap and lap.start == "0" else {}
    usual = _usual(day, given)
    return start | ({f"usual_{name}": getattr(usual, name) for name in _SET} if usual else {})


def _usual(day: Day, given: Given) -> TypedSetting | None:
    """The go-ahead's setting, else the last strip's: as it was when the lap was chosen."""
    if answered(given, "usual_nozzle"):
        return TypedSetting(**{name: got(given, f"usual_{name}") or "" for name in _SET})
    return day.standing.setting if day.standing else day.last


def _begun(day: Day, given: Given, call: Call) -> Calls:
    """The lap begun, with the setting that was said yes to, on its listed lap kind."""
    if "--tool" in call.options:
        return (call,)
    usual, lap = _usual(day, given), _lap_of(day.to_weld, got(given, "weld"))
    options = dict(call.options)
    if usual and got(given, "same_setting") == "yes":
        options |= {"--nozzle": usual.nozzle, "--speed": usual.speed}
        if len(day.machines) != 1:
            options["--machine"] = usual.machine
        if len(day.sheets) != 1:
            options["--sheet"] = usual.sheet
        options["--lap"] = usual.lap
    if lap and lap.kind:
        options["--lap"] = lap.kind
    if options.get("--lap") == strips.PLAIN_LAP:
        del options["--lap"]
    return (replace(call, options=options),)


def _lap(day: Day, given: Given) -> Iterator[Question]:
    seams = tuple(lap.seam for lap in day.welding)
    yield Question(
        "seam",
        "name",
        mark("Which seam"),
        option=WORD,
        choices=seams,
        default=seams[-1] if seams else None,
    )
    lap = _lap_of(day.welding, got(given, "seam"))
    first: str | None = "finish" if lap and lap.checks else "check"
    yield Question(
        "lap_what",
        "choice",
        mark("{seam} is being welded ({run}). Now"),
        mark(
            "Never type while the machine travels. Check: bleed-out read on the seam. Finish: "
            "this run ends."
        ),
        choices=(mark("finish"), mark("check")),
        default=None if lap and lap.outside else first,  # a bad check is not passed by Enter
        values={"run": (lap and lap.run) or ""},
    )
    checked = got(given, "lap_what") == "check"
    yield from _check(day) if checked else _finish(day, given, lap)


def _check(day: Day) -> Iterator[Question]:
    yield Question("at", "value", mark("Checked at"), field="distance", option=WORD)
    yield replace(strips.readings(day, WORD), seen=True)
    yield Question(
        "confirm_check", asks=mark("{seam} at {at}: bleed-out {readings}. Enter records it")
    )


def _finish(day: Day, given: Given, lap: DayLap | None) -> Iterator[Question]:
    """How far the machine came is looked at: Enter never says that it reached the end."""
    far = lap.end if lap else None
    yield Question(
        "end",
        "value",
        mark("{seam} welded to (its end is {far})") if far else mark("{seam} welded to"),
        mark("Distance from the chalked zero end."),
        field="distance",
        option="--to",
        seen=True,
        values={"far": far or ""},
    )
    if not _reached(day, lap, got(given, "end")):
        yield Question(
            "stopped",
            "choice",
            mark("Why it ends there"),
            mark(
                "A stop ends a run; the next begins a new one. After the power was lost a new "
                "strip is due."
            ),
            choices=(mark("a stop"), mark("power lost")),
            default="a stop",
        )


def _reached(day: Day, lap: DayLap | None, end: str | None) -> bool:
    """Whether a lap was welded to the end it is listed with."""
    if lap is None or lap.end is None or end is None:
        return False
    if says_end(end):
        return True
    came, listed = (weather.si("distance", text, day.units) for text in (end, lap.end))
    return came is not None and listed is not None and abs(came - listed) <= SAME_PLACE_M


def _lap_implied(day: Day, given: Given) -> dict[str, str | None]:
    return {"seam": day.welding[0].seam} if len(day.welding) == 1 else {}


def _checked_or_finished(day: Day, given: Given, call: Call) -> Calls:
    if got(given, "lap_what") == "check":
        return (call,)
    lost = True if got(given, "stopped") == "power lost" else None
    return (replace(call, command="seam finish").adding(power_lost=lost),)


def _lap_of(laps: tuple[DayLap, ...], seam: str | None) -> DayLap | None:
    return next((lap for lap in laps if lap.seam == seam), None)


def _seams(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "names",
        "text",
        mark("Seams to weld, like A1-A6"),
        mark("A name, or many at once: A1-A6."),
        option=WORD,
    )
    yield Question(
        "length", "value", mark("Length of each"), field="length", option="--length", optional=True
    )
    yield Question("confirm_seams", asks=mark("Seams {names}. Enter lists them"))


START = Step(
    mark("start"),
    mark("begin a lap"),
    _start,
    "seam start",
    ("run",),
    _begun,
    _start_implied,
    dated=True,
)
LAP = Step(
    mark("lap"),
    mark("check or finish the lap in work"),
    _lap,
    "bleed",
    ("bleed", "run-finish"),
    _checked_or_finished,
    _lap_implied,
    dated=True,
)
SEAMS = Step(mark("seams"), mark("list seams to weld"), _seams, "seam add", ("seam",))


STEPS = (
    weather.CONDITIONS,
    site.CAUTIONS,
    strips.DIAL,
    strips.STRIP,
    strips.PULL,
    START,
    LAP,
    strips.HAND_STRIP,
    SEAMS,
    site.ROLLS,
    site.ENDED,
    site.WATCH,
    site.START_UP,
)


def due(day: Day) -> Iterator[str]:
    """Steps that are due, in order."""
    if day.welding:
        yield "lap"
    if day.waiting:
        yield "pull"
    if not day.read or weather.sheet_old(day) or _waits(day):
        yield "conditions"
    if not day.hot:
        yield "cautions"
    if not _stands(day):
        if day.advised is None:
            yield "dial"
        yield "strip"
    elif not day.seams:
        yield "seams"
    elif day.to_weld:
        if day.needs.start_up:
            yield site.START_UP.code
        if day.needs.hand_strip:
            yield "hand strip"
        yield "start"
    yield from site.due(day)


def _waits(day: Day) -> bool:
    return day.standing is not None and day.standing.level == WAIT


def _stands(day: Day) -> bool:
    return day.standing is not None and permits(day.standing.level)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of a day."""
    unavailable = {"pull": not day.waiting, "lap": not day.welding, **site.gone(day)}
    return tuple(step.code for step in STEPS if not unavailable.get(step.code, False))
