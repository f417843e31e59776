"""The operator's day: conditions, cautions, strip, pull when cold, dial, laps.

Invariant: a step comes next because of what the book lacks, never because of
what was typed before; nothing judged by eye has a default.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from weldcal.flow import weather
from weldcal.flow.question import (
    Given,
    Question,
    Step,
    Words,
    answered,
    command,
    got,
    seen_at,
    when,
    with_unit,
)
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.quality.go_ahead_rules import GOOD, WAIT, permits
from weldcal.records.day import Advised, Day, Lap, Setting, Wanted
from weldcal.records.fields import says_end
from weldcal.words import mark

_PLAIN_LAP = "selvage"
_SAME_NOZZLE_K = 1.0  # a display shows whole degrees


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
        yield "start"


def _waits(day: Day) -> bool:
    return day.standing is not None and day.standing.level == WAIT


def _stands(day: Day) -> bool:
    return day.standing is not None and permits(day.standing.level)


# -- strips --------------------------------------------------------------------------------


def _things(day: Day, given: Given) -> Iterator[Question]:
    """Machine, sheet and lap kind, where there is more than one."""
    last = day.last
    machines = tuple(machine.name for machine in day.machines)
    for code, names, usual in (
        ("machine", machines, last.machine if last else None),
        ("sheet", day.sheets, last.sheet if last else None),
    ):
        if len(names) != 1:
            yield Question(code, "name", choices=names, default=usual)
    others = tuple(sorted(set(day.laps) - {_PLAIN_LAP}))
    if others:
        choices = (_PLAIN_LAP, *others)
        yield Question("lap", "choice", choices=choices, default=last.lap if last else None)


def _setting(day: Day, given: Given, usual: Setting | None) -> Iterator[Question]:
    unit = _dial_unit(day, given)
    usual = usual if usual and usual.machine == _machine(day, given) else None
    nozzle, speed = (usual.nozzle, usual.speed) if usual else (None, None)
    yield Question("nozzle", "value", "nozzle", default=nozzle)
    yield Question("speed", "speed", unit, default=speed)


def _strip(day: Day, given: Given) -> Iterator[Question]:
    yield from _things(day, given)
    yield from weather.still(day, given)
    yield from _strip_setting(day, given)
    sheet = got(given, "sheet") or (day.sheets[0] if day.sheets else "")
    if sheet not in day.by_bond:
        yield Question("readings", "many", "reading")
    yield Question("bubbling", "choice", choices=("none", "trace", "heavy"))
    yield Question("confirm_strip", values=_set_told(day, given, "readings", "bubbling"))


def _strip_setting(day: Day, given: Given) -> Iterator[Question]:
    """The setting: the speed offered is the one advised for just this, never one meant for another."""
    wanted, advised = wanted_for(day, given), day.advised
    for question in _setting(day, given, day.last):
        if question.code == "nozzle" and question.default is None and advised:
            yield replace(question, default=advised.nozzle)
        elif question.code == "speed" and advised and fits(advised, wanted, day.units):
            yield replace(question, default=advised.speed)
        elif question.code == "speed" and (advised or wanted.weather):
            yield replace(question, default=None)
        else:
            yield question


def wanted_for(day: Day, given: Given) -> Wanted:
    """What advice a strip's answers so far call for."""
    return Wanted(
        _machine(day, given),
        got(given, "sheet") or (day.sheets[0] if day.sheets else ""),
        got(given, "lap") or _PLAIN_LAP,
        got(given, "nozzle"),
        tuple((name, text) for name, text in weather.typed(given).items() if text is not None),
    )


def fits(advised: Advised, wanted: Wanted, units: str) -> bool:
    """Whether advice is for just what is wanted."""
    if replace(wanted, nozzle=None) != replace(advised.wanted, nozzle=None):
        return False
    if wanted.nozzle is None or advised.nozzle is None:
        return True
    there, here = (weather.si("nozzle", text, units) for text in (advised.nozzle, wanted.nozzle))
    return there is not None and here is not None and abs(there - here) < _SAME_NOZZLE_K


def _strip_words(day: Day, given: Given) -> Words:
    things = {name: got(given, name) for name in ("machine", "sheet")}
    lap = got(given, "lap")
    record = command(
        "strip record",
        nozzle=got(given, "nozzle"),
        speed=got(given, "speed"),
        bleed=got(given, "readings"),
        bubbling=got(given, "bubbling"),
        bond="not tried",
        **things,
        lap=lap if lap != _PLAIN_LAP else None,
        **weather.typed(given),
        at=seen_at(day, when(given, "bubbling")),
    )
    return [record, _dial_words(things, lap)]


def _set_told(day: Day, given: Given, *codes: str) -> dict[str, str]:
    """Answers to be shown before they count, the setting with its units."""
    told = _told(given, "nozzle", "speed", *codes)
    unit = _dial_unit(day, given)
    bare = told["speed"][-1:].isdigit() and unit != "mark"
    return {
        **told,
        "nozzle": with_unit(told["nozzle"], "nozzle", day.units),
        "speed": f"{told['speed']} {unit}" if bare and unit else told["speed"],
    }


def _dial_unit(day: Day, given: Given) -> str:
    machine = _machine(day, given)
    return next((m.unit for m in day.machines if m.name == machine), "")


def _machine(day: Day, given: Given) -> str:
    return got(given, "machine") or (day.machines[0].name if day.machines else "")


def _told(given: Given, *codes: str) -> dict[str, str]:
    return {code: got(given, code) or "" for code in codes}


def _dial_words(things: dict[str, str | None], lap: str | None) -> list[str]:
    return command("dial", **things, lap=lap if lap != _PLAIN_LAP else None)


def _pull(day: Day, given: Given) -> Iterator[Question]:
    first = day.waiting[0] if day.waiting else None
    yield Question("pulled", "choice", choices=day.waiting, default=first)
    told = _told(given, "pulled")
    yield Question("bond", "choice", choices=("good", "cold"), values=told)
    parted = ("in the compound", "in the reinforcement", "at the lap", "not parted")
    yield Question("parted", "choice", choices=parted, optional=True)
    yield Question("confirm_pull", values={**told, **_told(given, "bond", "parted")})


def _pull_implied(day: Day, given: Given) -> dict[str, str | None]:
    return {"pulled": day.waiting[0]} if len(day.waiting) == 1 else {}


def _pull_words(day: Day, given: Given) -> Words:
    at = seen_at(day, when(given, "bond"))
    parted, bond = got(given, "parted"), got(given, "bond")
    return [command("strip pull", got(given, "pulled"), bond, parted=parted, at=at)]


def _dial(day: Day, given: Given) -> Iterator[Question]:
    yield from _things(day, given)
    yield Question("confirm_dial")


def _dial_all(day: Day, given: Given) -> Words:
    return [
        _dial_words({name: got(given, name) for name in ("machine", "sheet")}, got(given, "lap"))
    ]


# -- laps ----------------------------------------------------------------------------------


def _start(day: Day, given: Given) -> Iterator[Question]:
    known = tuple(lap.seam for lap in day.to_weld)
    yield Question(
        "weld",
        "name",
        choices=known,
        default=known[0] if known else None,
        values=_lap_told(day.to_weld, known[:1]),
    )
    lap = _lap_of(day.to_weld, got(given, "weld"))
    yield Question("start", "value", "distance", default=lap.start if lap else "0")
    if lap and lap.by_hand:
        yield from _hand(day, given)
        return
    usual = _usual(day, given)
    if usual:
        values = {"nozzle": usual.nozzle, "speed": usual.speed, "seam": got(given, "weld") or ""}
        yield Question(
            "same_setting", "choice", choices=("yes", "no"), default=_yes(day), values=values
        )
    if not usual or got(given, "same_setting") == "no":
        yield from _things(day, given)
        yield from _setting(day, given, usual)
        kind = "confirm" if _good(day) else "agree"
        yield Question("confirm_start", kind, values=_set_told(day, given, "weld"))


def _hand(day: Day, given: Given) -> Iterator[Question]:
    """A detail: which tool, how hot. What its hand strip says is told when it is recorded."""
    if len(day.sheets) != 1:
        yield Question("sheet", "name", choices=day.sheets)
    yield Question("tool", "text")
    yield Question("nozzle", "value", "nozzle")
    told = {code: got(given, code) or "" for code in ("weld", "tool")}
    told["nozzle"] = with_unit(got(given, "nozzle") or "", "nozzle", day.units)
    yield Question("agree_hand", "agree", values=told)


def _yes(day: Day) -> str | None:
    """Enter alone starts a lap only on a go-ahead that nothing speaks against."""
    return "yes" if _good(day) else None


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


_SET = Setting.__struct_fields__


def _usual(day: Day, given: Given) -> Setting | None:
    """The go-ahead's setting, else the last strip's: as it was when the lap was chosen."""
    if answered(given, "usual_nozzle"):
        return Setting(**{name: got(given, f"usual_{name}") or "" for name in _SET})
    return day.standing.setting if day.standing else day.last


def _start_words(day: Day, given: Given) -> Words:
    usual = _usual(day, given)
    same = got(given, "same_setting") == "yes" and usual is not None
    chosen = _lap_of(day.to_weld, got(given, "weld"))
    start = got(given, "start")
    if answered(given, "tool"):
        return [
            command(
                "seam start",
                got(given, "weld"),
                from_=start if start != "0" else None,
                tool=got(given, "tool"),
                nozzle=got(given, "nozzle"),
                sheet=got(given, "sheet"),
                at=seen_at(day, when(given, "agree_hand")),
            )
        ]
    listed = chosen.kind if chosen else None
    lap = listed or got(given, "lap") or (usual.lap if same and usual else None)
    names = {"machine": len(day.machines), "sheet": len(day.sheets)}
    things = {
        name: getattr(usual, name) if same and count != 1 else got(given, name)
        for name, count in names.items()
    }
    nozzle, speed = (getattr(usual, n) if same else got(given, n) for n in ("nozzle", "speed"))
    last = when(given, "same_setting" if same else "confirm_start")
    return [
        command(
            "seam start",
            got(given, "weld"),
            from_=start if start != "0" else None,
            nozzle=nozzle,
            speed=speed,
            **things,
            lap=lap if lap != _PLAIN_LAP else None,
            at=seen_at(day, last),
        )
    ]


def _lap(day: Day, given: Given) -> Iterator[Question]:
    known = tuple(lap.seam for lap in day.welding)
    yield Question("welding", "name", choices=known, default=known[-1] if known else None)
    lap = _lap_of(day.welding, got(given, "welding"))
    told = {"seam": got(given, "welding") or "", "run": lap.run if lap else ""}
    first: str | None = "finish" if lap and lap.checks else "check"
    if lap and lap.outside:
        first = None  # a bad check is looked at, not passed by Enter
    yield Question(
        "lap_what", "choice", choices=(mark("finish"), mark("check")), default=first, values=told
    )
    if got(given, "lap_what") == "check":
        yield Question("at", "value", "distance")
        yield Question("readings", "many", "reading")
        yield Question("confirm_check", values={**told, **_told(given, "at", "readings")})
        return
    # How far the machine came is looked at: Enter never says that it reached the end.
    yield Question("end", "value", "distance", values={**told, "far": lap.end if lap else None})
    if not _reached(day, lap, got(given, "end")):
        yield Question(
            "stopped",
            "choice",
            choices=(mark("a stop"), mark("power lost")),
            default="a stop",
            values=told,
        )


def _reached(day: Day, lap: Lap | None, end: str | None) -> bool:
    """Whether a lap was welded to the end it is listed with."""
    if lap is None or lap.end is None or end is None:
        return False
    if says_end(end):
        return True
    came, listed = (weather.si("distance", text, day.units) for text in (end, lap.end))
    return came is not None and listed is not None and abs(came - listed) <= SAME_PLACE_M


def _lap_implied(day: Day, given: Given) -> dict[str, str | None]:
    return {"welding": day.welding[0].seam} if len(day.welding) == 1 else {}


def _lap_words(day: Day, given: Given) -> Words:
    seam = got(given, "welding")
    if got(given, "lap_what") == "check":
        at = seen_at(day, when(given, "readings"))
        return [command("bleed", seam, got(given, "at"), got(given, "readings"), at=at)]
    finish = command("seam finish", seam, to=got(given, "end"), at=seen_at(day, when(given, "end")))
    return [[*finish, "--power-lost"] if got(given, "stopped") == "power lost" else finish]


def _lap_of(laps: tuple[Lap, ...], seam: str | None) -> Lap | None:
    return next((lap for lap in laps if lap.seam == seam), None)


def _lap_told(laps: tuple[Lap, ...], names: tuple[str, ...]) -> dict[str, str]:
    lap = _lap_of(laps, names[0]) if names else None
    return {"seam": lap.seam, "start": lap.start, "end": lap.end or ""} if lap else {}


def _seams(day: Day, given: Given) -> Iterator[Question]:
    yield Question("names", "text")
    yield Question("length", "value", "length", optional=True)
    yield Question("confirm_seams", values=_told(given, "names", "length"))


def _seams_words(day: Day, given: Given) -> Words:
    return [command("seam add", got(given, "names"), length=got(given, "length"))]


def _cautions(day: Day, given: Given) -> Iterator[Question]:
    yield Question("cautions", "shown")


STEPS = (
    Step("conditions", ("conditions",), weather.questions, weather.questions_words),
    Step("cautions", (), _cautions, lambda day, given: [["cautions"]]),
    Step("dial", ("advice",), _dial, _dial_all),
    Step("strip", ("strip",), _strip, _strip_words),
    Step("pull", ("pull",), _pull, _pull_words, _pull_implied),
    Step("start", ("run",), _start, _start_words, _start_implied),
    Step("lap", ("bleed", "run-finish"), _lap, _lap_words, _lap_implied),
    Step("seams", ("seam",), _seams, _seams_words),
)


def open_steps(day: Day) -> tuple[str, ...]:
    """Steps that can be taken now, in the order of a day."""
    gone = {"pull": not day.waiting, "lap": not day.welding}
    return tuple(step.code for step in STEPS if not gone.get(step.code, False))
