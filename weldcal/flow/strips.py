"""The operator before the first lap: cautions, the speed to try, strips, pulls when cold.

Invariant: nothing judged by eye has a default; the speed offered is the one advised for
just this setting and weather.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from weldcal.flow import weather
from weldcal.flow.question import WORD, Call, Calls, Given, Question, Step, got, with_unit
from weldcal.records.day import Advised, Day, SpeedWanted, TypedSetting
from weldcal.words import mark

PLAIN_LAP = "selvage"
_SAME_NOZZLE_K = 1.0  # a display shows whole degrees


def things(day: Day) -> Iterator[Question]:
    """Machine, sheet and lap kind, where there is more than one: those of the advice that still
    holds, else of the last strip."""
    last = day.advised.wanted if day.advised and day.last else day.last
    machines = tuple(machine.name for machine in day.machines)
    for code, asks, names, usual in (
        ("machine", mark("Machine"), machines, last.machine if last else None),
        ("sheet", mark("Sheet"), day.sheets, last.sheet if last else None),
    ):
        if len(names) != 1:
            yield Question(code, "name", asks, option=f"--{code}", choices=names, default=usual)
    others = tuple(sorted(set(day.laps) - {PLAIN_LAP}))
    if others:
        yield Question(
            "lap",
            "choice",
            mark("Lap kind"),
            option="--lap",
            unsaid=PLAIN_LAP,
            choices=(PLAIN_LAP, *others),
            default=last.lap if last else None,
        )


NOZZLE = Question(
    "nozzle",
    "value",
    mark("Nozzle, as set"),
    mark("What the machine's display is set to, not what was measured."),
    field="nozzle",
    option="--nozzle",
)
_SPEED = Question(
    "speed",
    "speed",
    mark("Speed on the dial"),
    mark("What the dial shows. The default is the speed advised for just this setting."),
    option="--speed",
)


def setting(day: Day, given: Given, usual: TypedSetting | None) -> Iterator[Question]:
    """Nozzle and speed, with the usual setting of the same machine as default."""
    usual = usual if usual and usual.machine == machine(day, given) else None
    yield replace(NOZZLE, default=usual.nozzle if usual else None)
    yield replace(_SPEED, field=_dial_unit(day, given), default=usual.speed if usual else None)


def readings(day: Day, option: str) -> Question:
    """Widths of bleed-out, along a strip or at one place of a seam."""
    return Question(
        "readings",
        "many",
        mark("Bleed-out readings, like 1/4,3/16")
        if day.units == "us"
        else mark("Bleed-out readings in mm, like 6, 5, 7"),
        mark("Width of the bleed-out at places along the strip, with commas. 0: none seen."),
        field="reading",
        option=option,
    )


_BUBBLING = Question(
    "bubbling",
    "choice",
    mark("Bubbling"),
    mark(
        "Look at the bleed-out and the edge: none, trace or heavy. It is the sign of too much heat."
    ),
    option="--bubbling",
    seen=True,
    choices=("none", "trace", "heavy"),
)


def _strip(day: Day, given: Given) -> Iterator[Question]:
    yield from things(day)
    yield from weather.still(day, given)
    yield from _strip_setting(day, given)
    by_bond = _sheet(day, given) in day.by_bond
    if not by_bond:
        yield readings(day, "--bleed")
    yield _BUBBLING
    yield Question(
        "confirm_strip",
        asks=mark("Strip at {nozzle}, {speed}: bubbling {bubbling}. Enter records it")
        if by_bond
        else mark(
            "Strip at {nozzle}, {speed}: bleed-out {readings}, bubbling {bubbling}. Enter "
            "records it"
        ),
        values=setting_in_words(day, given),
    )


def _strip_setting(day: Day, given: Given) -> Iterator[Question]:
    """The setting: the speed offered is the one advised for just this, never one meant for another."""
    wanted, advised = wanted_for(day, given), day.advised
    nozzle, speed = setting(day, given, day.last)
    if nozzle.default is None and advised:
        nozzle = replace(nozzle, default=advised.nozzle)
    if advised and fits(advised, wanted, day.units):
        speed = replace(speed, default=advised.speed)
    elif advised or wanted.weather:
        speed = replace(speed, default=None)
    yield from (nozzle, speed)


def wanted_for(day: Day, given: Given) -> SpeedWanted:
    """What advice a strip's answers so far call for."""
    return SpeedWanted(
        machine(day, given),
        _sheet(day, given),
        got(given, "lap") or PLAIN_LAP,
        got(given, "nozzle"),
        tuple((name, text) for name, text in weather.typed(given).items() if text is not None),
    )


def fits(advised: Advised, wanted: SpeedWanted, units: str) -> bool:
    """Whether advice is for just what is wanted."""
    if replace(wanted, nozzle=None) != replace(advised.wanted, nozzle=None):
        return False
    if wanted.nozzle is None or advised.nozzle is None:
        return True
    advised_c, wanted_c = (
        weather.si("nozzle", text, units) for text in (advised.nozzle, wanted.nozzle)
    )
    return (
        advised_c is not None
        and wanted_c is not None
        and abs(advised_c - wanted_c) < _SAME_NOZZLE_K
    )


def setting_in_words(day: Day, given: Given) -> dict[str, str]:
    """The setting answered, to be shown before it counts, with its units."""
    nozzle, speed = (got(given, code) or "" for code in ("nozzle", "speed"))
    unit = _dial_unit(day, given)
    bare = speed[-1:].isdigit() and unit != "mark"
    return {
        "nozzle": with_unit(nozzle, "nozzle", day.units),
        "speed": f"{speed} {unit}" if bare and unit else speed,
    }


def _dial_unit(day: Day, given: Given) -> str:
    name = machine(day, given)
    return next((m.unit for m in day.machines if m.name == name), "")


def machine(day: Day, given: Given) -> str:
    """The machine answered, else the first listed."""
    return got(given, "machine") or (day.machines[0].name if day.machines else "")


def _sheet(day: Day, given: Given) -> str:
    return got(given, "sheet") or (day.sheets[0] if day.sheets else "")


def _and_the_advice(day: Day, given: Given, call: Call) -> Calls:
    """The strip, its pull still to come; then the speed to try next."""
    same = {k: v for k, v in call.options.items() if k in ("--machine", "--sheet", "--lap")}
    return (call.adding(bond="not tried"), Call("dial", (), same))


def _pull(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "pulled",
        "choice",
        mark("Which strip is pulled"),
        mark("Which of the strips that wait for their pull."),
        option=WORD,
        choices=day.waiting,
        default=day.waiting[0] if day.waiting else None,
    )
    yield Question(
        "bond",
        "choice",
        mark("{pulled} cooled down? The pull was"),
        mark(
            "Good: it parts in the compound or in the reinforcement over the whole width. Cold: "
            "it comes apart clean where the sheets meet. Only when the strip is cold; not yet? "
            "Type l: it is asked for again another time."
        ),
        option=WORD,
        seen=True,
        choices=("good", "cold"),
    )
    yield Question(
        "parted",
        "choice",
        mark("It parted"),
        mark("Where it came apart, if you looked."),
        option="--parted",
        choices=("in the compound", "in the reinforcement", "at the lap", "not parted"),
        optional=True,
    )
    yield Question("confirm_pull", asks=mark("{pulled}: pull {bond}. Enter records it"))


def _pull_implied(day: Day, given: Given) -> dict[str, str | None]:
    return {"pulled": day.waiting[0]} if len(day.waiting) == 1 else {}


def _dial(day: Day, given: Given) -> Iterator[Question]:
    """Where nobody ever read the voltage on this job, it is asked for as the machine heats."""
    yield from things(day)
    if day.volts_read:
        yield Question("confirm_dial", asks=mark("Enter works out the speed to try"))
    else:
        asks = mark("Voltage at the machine, under load; Enter works out the speed to try")
        yield from weather.volts(day, given, asks)


def _dialled(day: Day, given: Given, call: Call) -> Calls:
    """The voltage recorded, where it was read; then the speed to try."""
    volts = weather.recorded_of(call, "--line-voltage", "--supply", "--at")
    same = {k: v for k, v in call.options.items() if k in ("--machine", "--sheet", "--lap")}
    dial = Call(call.command, (), same)
    return (volts, dial) if "--line-voltage" in volts.options else (dial,)


def _by_hand(day: Day, given: Given) -> Iterator[Question]:
    """A strip of a hand tool: judged by its pull."""
    yield from hand_things(day)
    yield _BUBBLING
    yield Question(
        "confirm_hand_strip",
        asks=mark("Hand strip with {tool} at {nozzle}: bubbling {bubbling}. Enter records it"),
        values={"nozzle": with_unit(got(given, "nozzle") or "", "nozzle", day.units)},
    )


def hand_things(day: Day) -> Iterator[Question]:
    """What a hand weld is set to: the sheet, the tool, its heat."""
    if len(day.sheets) != 1:
        yield Question("sheet", "name", mark("Sheet"), option="--sheet", choices=day.sheets)
    yield Question("tool", "text", mark("Hand tool"), option="--tool")
    yield NOZZLE


DIAL = Step(
    mark("dial"),
    mark("the speed to try, and how sure"),
    _dial,
    "dial",
    ("advice",),
    _dialled,
    skips=True,
)
HAND_STRIP = Step(
    mark("hand strip"),
    mark("a test strip made by hand"),
    _by_hand,
    "strip record",
    ("strip",),
    lambda day, given, call: (call.adding(by_hand=True, bond="not tried"),),
    dated=True,
)
STRIP = Step(
    mark("strip"),
    mark("a test strip"),
    _strip,
    "strip record",
    ("strip",),
    _and_the_advice,
    dated=True,
)
PULL = Step(
    mark("pull"),
    mark("a strip pulled cold"),
    _pull,
    "strip pull",
    ("pull",),
    implied=_pull_implied,
    dated=True,
)
