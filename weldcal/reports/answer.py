"""The answer in three lines: the speed, how sure and until when, the one thing to do.

Invariant: the lines stand last on the screen and fit 40 columns by 10 rows. A STOP or a
wait never stands beside a speed to weld at; a speed without a go-ahead says that it is none.
"""

from __future__ import annotations

from weldcal.reports import digits, shortfalls, show, signs
from weldcal.reports.advice import bond_pulled, doubt, on_dial, unrecorded
from weldcal.reports.lines import wrapped
from weldcal.rules.causes import CAUSES
from weldcal.views.dialled import Dialled, Stands, Then, pressing
from weldcal.words import _, mark, number


def page(dialled: Dialled, then: Then, *, was: bool = False) -> list[str]:
    """The three lines, folded to the screen; `was`: beside the speed advised before."""
    return [wrapped(line) for line in lines(dialled, then, was=was)]


def lines(dialled: Dialled, then: Then, *, was: bool = False) -> list[str]:
    """The three lines as they are."""
    if dialled.advice.forecast is None:
        return _stopped(dialled)
    if then.waits:
        return _waiting(dialled, then)
    return [
        *unrecorded(dialled),
        _changed(dialled, then) if was else _set(dialled, then),
        _sure(dialled),
        _to_do(dialled, then),
    ]


def _set(dialled: Dialled, then: Then) -> str:
    return _("Set {speed}, nozzle {nozzle}.", **_setting(dialled, then))


def _changed(dialled: Dialled, then: Then) -> str:
    """`8 ft/min, was 4.5`."""
    if then.was is None:
        return _set(dialled, then)
    dial = dialled.asked.dial
    values = _setting(dialled, then)
    if dial.mark(then.was) == dial.mark(dialled.advised.speed_m_per_min):
        return _("{speed} as before, nozzle {nozzle}.", **values)
    return _("{speed}, was {was}. Nozzle {nozzle}.", was=number(dial.mark(then.was), "g"), **values)


def _setting(dialled: Dialled, then: Then) -> dict[str, str]:
    """Speed and nozzle; with the machine or sheet where the job has more than one."""
    f, asked = dialled.advised, dialled.asked
    nozzle = show.temperature(f.nozzle_c - asked.nozzle_offset_k, asked.units)
    return {
        "speed": on_dial(asked, f.speed_m_per_min),
        "nozzle": f"{nozzle} ({show.listed(list(then.kind))})" if then.kind else nozzle,
    }


def _sure(dialled: Dialled) -> str:
    """How sure, why not, and until when."""
    a = dialled.advice
    chance = show.percent(dialled.advised.chance, down=True)
    if a.sure:
        text = _("SURE ENOUGH: {chance} for a good lap.", chance=chance)
        if at := bond_pulled(a):
            text += " " + _("Bond last pulled: {at}.", at=at)
    elif "chance_too_low" in a.doubts:
        text = _("NOT SURE: {chance} for a good lap.", chance=chance)
    else:
        text = _("NOT SURE: {why}.", why=doubt(a.doubts[0]) if a.doubts else chance)
    if a.holds_until_sheet_c is None:
        return text
    sheet = show.temperature(a.holds_until_sheet_c, dialled.asked.units)
    return text + " " + _("Until the sheet is {sheet}.", sheet=sheet)


# What presses in a word or two, to stand beside the speed: what has to be before that speed is welded at.
_WORD = {
    "stop": mark("STOP"),
    "wait": mark("WAIT"),
    "cause": mark("FIND OUT FIRST"),
    "pull": mark("PULL FIRST"),
    "read": mark("READ FIRST"),
    "far_warmer": mark("READ FIRST"),
    "far_colder": mark("READ FIRST"),
    "strip": mark("STRIP FIRST"),
    "look": mark("LOOK"),
    "look_other": mark("STRIP FIRST"),
    "other": mark("STRIP FIRST"),
    "other_lucky": mark("STRIP FIRST"),
    "lucky": mark("STRIP FIRST"),
    "weld": mark("WELD"),
}


def large(dialled: Dialled, then: Then, columns: int, rows: int) -> list[str]:
    """The speed in large digits, what it is and what comes first; STOP or WAIT where there is none."""
    code = pressing(dialled, then)
    if code in ("stop", "wait"):
        return digits.drawn(_(_WORD[code]), (), columns, rows)
    dial = dialled.asked.dial
    speed = number(dial.mark(dialled.advised.speed_m_per_min), "g")
    shown = _("on the dial") if dial.unit == "mark" else show.unit(dial.unit)
    nozzle = _("nozzle {nozzle}", nozzle=_setting(dialled, then)["nozzle"])
    return digits.drawn(speed, (shown, nozzle, _first(dialled, code)), columns, rows)


def _first(dialled: Dialled, code: str) -> str:
    """What comes first, in a word or two; a strip at another speed says at which."""
    if code == "strip" and _teaches_more(dialled):
        dial = dialled.asked.dial
        at = show.dial_mark(dial.mark(dialled.to_try.speed_m_per_min), dial.unit)
        return _("STRIP AT {speed} FIRST", speed=at)
    return _(_WORD[code])


def _teaches_more(dialled: Dialled) -> bool:
    """Whether the strip to run is at another mark than the speed advised: it teaches more there."""
    mark_of = dialled.asked.dial.mark
    return mark_of(dialled.to_try.speed_m_per_min) != mark_of(dialled.advised.speed_m_per_min)


def _to_do(dialled: Dialled, then: Then) -> str:
    """The one thing to do, the most pressing first."""
    code, stands = pressing(dialled, then), then.stands
    if code == "cause":
        return _(
            'First find out why strips failed: weldcal machine cause {machine} "WHAT". Then a strip.',
            machine=show.safe(dialled.asked.question.machine),
        )
    if code == "pull":
        return _("Pull {name} first, when it is cold. Advice is not a go-ahead.", name=then.pull)
    if code == "read":
        at = show.clock(then.read_at or "", date=False)
        return _("Read the sheet now: it was read at {at}. Advice is not a go-ahead.", at=at)
    if code == "far_warmer":
        return _("Is the sheet's reading right? Nothing so warm was tried: cut the heat, or wait.")
    if code == "far_colder":
        return _(
            "Is the sheet's reading right? Nothing so cold was tried: wait until it is warmer."
        )
    if code == "strip" and _teaches_more(dialled):
        return _(
            "Not a go-ahead: first a strip at {speed}, which tells more than one at {advised}. Let it cool, pull it.",
            speed=_to_try(dialled),
            advised=on_dial(dialled.asked, dialled.advised.speed_m_per_min),
        )
    if code == "strip" or stands is None:
        return _(
            "Not a go-ahead: run a strip at {speed}, let it cool, pull it.",
            speed=_to_try(dialled),
        )
    if doubted := dialled.advice.second_strip if code in ("lucky", "other_lucky") else None:
        return _(
            "{name} may be luck, {chance} of such are right: first a strip at {advised}.",
            name=stands.name,
            chance=show.percent(doubted.chance, down=True),
            advised=on_dial(dialled.asked, dialled.advised.speed_m_per_min),
        )
    return _on_go_ahead(code, stands)


def _on_go_ahead(code: str, stands: Stands) -> str:
    """What to do where a go-ahead of today permits welding."""
    values = {"name": stands.name, "speed": show.setting(stands.speed)}
    if code == "look_other":
        return _(
            "LOOK: a bleed check now at {speed}, the speed of go-ahead {name}. Another speed needs a strip.",
            **values,
        )
    if code == "look":
        return _("LOOK, go-ahead {name}: make a bleed check now.", name=stands.name)
    if code == "other":
        return _("Go-ahead {name} is for {speed}: another speed needs a strip.", **values)
    if stands.until is None:
        return _("Weld: go-ahead {name} stands.", **values)
    until = show.clock(stands.until, date=False)
    return _("Weld: go-ahead {name} stands until {until}.", until=until, **values)


def _to_try(dialled: Dialled) -> str:
    return on_dial(dialled.asked, dialled.to_try.speed_m_per_min)


def _waiting(dialled: Dialled, then: Then) -> list[str]:
    """A stop rule first; the speed only for when it is over."""
    units = dialled.asked.units
    whys = [shortfalls.moved(t, units) for t in then.waits]
    return [
        *unrecorded(dialled),
        _("WAIT, nobody welds now: {why}.", why="; ".join(whys)),
        _("When it is over, a strip at {speed}, nozzle {nozzle}.", **_setting(dialled, then)),
        _("Read again then: weldcal conditions"),
    ]


def _stopped(dialled: Dialled) -> list[str]:
    """No speed: why, where to look first, and what brings the advice back."""
    a = dialled.advice
    first = [CAUSES[sign.code][0] for sign in a.signs if CAUSES.get(sign.code)]
    looks = [_("Look first: {look}.", look=_(cause.look).rstrip(".")) for cause in first[:1]]
    return [
        *unrecorded(dialled),
        signs.verdict(a.state),
        *looks,
        _("Then run a strip at a speed that was good. All causes: weldcal dial --why"),
    ]
