"""What is broken, what a pattern may come from, and what leaves advice open, in words.

Invariant: what the model says and what is common practice are kept apart; a STOP never stands
beside a speed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from weldcal.calibration.observation import Advice, AdviceReason, DayState, Observation, Sign
from weldcal.json_values import JsonObject
from weldcal.reports import show
from weldcal.rules.causes import CAUSES, PATTERNS, SOURCE
from weldcal.views.dialled import Asked
from weldcal.words import _, number

_MOST_CAUSES = 3  # of a sign beside a speed; all of them where the verdict is STOP
_SHOWN_FROM_K = 4.0  # sd of an old reading; less than this moves the speed by under 6 %


def stopped(advice: Advice, units: str) -> list[str]:
    """The page of a STOP, from its verdict on: no speed."""
    state = advice.state
    return [
        verdict(state),
        _chances(state),
        *lines(advice.signs, units, every=True),
        "",
        _(
            "Then run a strip at a speed that was good before: if it is good again, advice comes back."
        ),
    ]


def verdict(state: DayState) -> str:
    """The STOP itself."""
    return _(
        "STOP: machine or sheet is not what it was ({chance}). No speed is advised; find out first what it is.",
        chance=show.percent(state.broken, down=True),
    )


def line(state: DayState) -> list[str]:
    """One line for pages that are about something else; none where nothing seems broken."""
    from weldcal.calibration.advice import MAY_BE_BROKEN, STOP

    if state.broken >= STOP:
        return [_("STOP: machine or sheet is not what it was. Why: weldcal dial")]
    if state.broken > MAY_BE_BROKEN:
        return [
            _(
                "Machine or sheet may not be what it was ({chance}): weldcal dial",
                chance=show.percent(state.broken),
            )
        ]
    return []


def _chances(state: DayState) -> str:
    return _(
        "By the model: the machine's heat off {machine}, bonds failing whatever the heat {bond}, bubbling whatever the heat {bubbling}, nothing but chance {working}.",
        machine=show.percent(state.machine),
        bond=show.percent(state.bond),
        bubbling=show.percent(state.bubbling),
        working=show.percent(state.working),
    )


def lines(signs: tuple[Sign, ...], units: str, *, every: bool = False) -> Iterator[str]:
    """Each sign with its strips, and its causes in the order to look at them."""
    for sign in signs:
        yield ""
        yield _(
            "SIGN: {pattern} ({strips}).",
            pattern=_(PATTERNS[sign.code]),
            strips=", ".join(_strip(o, units) for o in sign.shown_by),
        )
        yield _("Look, in this order ({source}):", source=_(SOURCE))
        causes = CAUSES[sign.code] if every else CAUSES[sign.code][:_MOST_CAUSES]
        yield from [f"- {_(cause.cause)}: {_(cause.look)}" for cause in causes]


def _strip(o: Observation, units: str) -> str:
    """A strip or check by its name, or by its speed where it has none."""
    if o.name:
        return show.safe(o.name)
    return _("at {speed}", speed=show.speed(o.speed_m_per_min, units))


def open_questions(advice: Advice, asked: Asked) -> list[str]:
    """What widens the advice or holds it back: an old reading, a sheet far from all tried, a
    strip that passed by luck as likely as not."""
    lines, units = [], asked.units
    if advice.sheet_unsure_k >= _SHOWN_FROM_K:
        lines.append(_old_reading(advice, asked))
    if advice.capped == "warmer":
        lines.append(
            _(
                "The sheet is far warmer than anything tried: the speed is held back. Is the reading right? Then cut the heat, or wait until it is cooler."
            )
        )
    elif advice.capped == "colder":
        lines.append(
            _(
                "The sheet is far colder than anything tried: the speed is held up. Is the reading right? Then wait until it is warmer."
            )
        )
    if advice.second_strip is not None:
        lines.append(
            _(
                "{name} passed, but by the model only {chance} of such passes are at a setting that is truly good: one more strip at it before welding.",
                name=_strip(advice.second_strip.strip, units),
                chance=show.percent(advice.second_strip.chance),
            )
        )
    return lines


def _old_reading(advice: Advice, asked: Asked) -> str:
    from weldcal.calibration.staleness import NOTED

    per_degree = 9 / 5 if asked.units == "us" else 1.0
    values = {
        "at": show.clock(asked.carried["sheet_c"], date=False),
        "now": show.temperature(advice.sheet_now_c, asked.units),
        "spread": number(advice.sheet_unsure_k * per_degree, ".0f"),
        "unit": "F" if asked.units == "us" else "C",
    }
    if asked.question.sky in NOTED:
        return _(
            "The sheet was read at {at}; under that sky it is about {now} by now, give or take {spread} °{unit} (1 sd): read it again.",
            **values,
        )
    return _(
        "The sheet was read at {at}; under a sky that nobody noted it is taken for {now} by now, give or take {spread} °{unit} (1 sd): read it again.",
        **values,
    )


def bubbling_known() -> str:
    """How little the chance of bubbling says: measured by the bench, written in MODEL.md."""
    return _(
        "Bubbling is hardly better known than by how often it came before: look at every strip."
    )


def reason(because: AdviceReason, units: str) -> str:
    """A strip left out, as a reason."""
    v = because.values
    seen = [show.width(because.number("width_mm"), units)] if "width_mm" in v else []
    if "bubbling" in v:
        seen.append(_("bubbling {bubbling}", bubbling=_(str(v["bubbling"]))))
    if v.get("bond") == "cold":
        seen.append(_("parted cold"))
    return _(
        "without {name} ({speed}{seen}) it would be {without}: {moved}",
        name=show.safe(str(v["name"])) or _("that strip"),
        speed=show.speed(because.number("speed_m_per_min"), units),
        seen="".join(f", {one}" for one in seen),
        without=show.speed(because.number("without_m_per_min"), units),
        moved=show.speed_change(because.effect, units),
    )


def document(advice: Advice) -> JsonObject:
    """State and signs as JSON."""
    state = advice.state
    return {
        "stop": advice.stop,
        "state": {
            "chance_working": state.working,
            "chance_machine_off": state.machine,
            "chance_bond_fails": state.bond,
            "chance_bubbles_anyway": state.bubbling,
        },
        "signs": [
            {
                "code": sign.code,
                "shown_by": [o.name for o in sign.shown_by],
                "causes": [{"cause": c.cause, "look": c.look} for c in CAUSES[sign.code]],
                "source": SOURCE,
            }
            for sign in advice.signs
        ],
        "sheet_unsure_k": advice.sheet_unsure_k,
        "capped": advice.capped,
        "bond_seen": dataclasses.asdict(advice.bond_seen) if advice.bond_seen else None,
        "second_strip": None
        if advice.second_strip is None
        else {
            "name": advice.second_strip.strip.name,
            "chance": advice.second_strip.chance,
        },
    }
