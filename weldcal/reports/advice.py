"""The page of advice, in words; and the same as one JSON document.

Invariant: whatever it says of chances stands beside whether it is sure, and
every page ends by saying that advice is not a go-ahead.
"""

from __future__ import annotations

import dataclasses

from weldcal.calibration.observation import Advice
from weldcal.json_values import JsonObject
from weldcal.reports import day_ahead, shared_names, show, signs, why
from weldcal.reports.lines import wrapped
from weldcal.views.dialled import Asked, Dialled
from weldcal.words import _, plural


def document(dialled: Dialled) -> JsonObject:
    """The advice as one JSON document: SI values, units in the keys."""
    a, asked = dialled.advice, dialled.asked
    dial = asked.dial
    if a.forecast is None:
        return _stopped_document(dialled)
    reasons: list[JsonObject] = [
        {"code": r.code, "effect_m_per_min": r.effect, "values": r.values} for r in a.reasons
    ]
    return {
        "speed_m_per_min": a.forecast.speed_m_per_min,
        "dial_mark": dial.mark(a.forecast.speed_m_per_min),
        "dial_unit": dial.unit,
        "nozzle_c": a.forecast.nozzle_c,
        "nozzle_set_c": a.forecast.nozzle_c - asked.nozzle_offset_k,
        "sure": a.sure,
        "is_go_ahead": False,
        "doubts": list(a.doubts),
        "forecast": dataclasses.asdict(a.forecast),
        "speed_low_m_per_min": a.speed_low,
        "speed_high_m_per_min": a.speed_high,
        "holds_until_sheet_c": a.holds_until_sheet_c,
        "speed_from_there_m_per_min": a.speed_from_there,
        "later_today": day_ahead.document(asked, a.steps),
        "sheet_now_c": a.sheet_now_c,
        "next_strip": dataclasses.asdict(a.next_strip) if a.next_strip else None,
        "reasons": reasons,
        "rests_on": a.rests_on,
        "question": dataclasses.asdict(dialled.asked.question),
        "window": dataclasses.asdict(dialled.asked.window),
        "carried_over": dialled.asked.carried,
        "strips_left_out": dialled.asked.left_out,
        "firm": dataclasses.asdict(dialled.asked.rests) if dialled.asked.rests else None,
        "recorded": dialled.recorded,
        **signs.document(a),
    }


def _stopped_document(dialled: Dialled) -> JsonObject:
    """STOP as JSON: the same keys, with no speed under any of them."""
    a, asked = dialled.advice, dialled.asked
    nothing = (
        "speed_m_per_min",
        "dial_mark",
        "nozzle_c",
        "nozzle_set_c",
        "forecast",
        "speed_low_m_per_min",
        "speed_high_m_per_min",
        "holds_until_sheet_c",
        "speed_from_there_m_per_min",
        "next_strip",
        "sheet_now_c",
    )
    return {
        **dict.fromkeys(nothing),
        "dial_unit": asked.dial.unit,
        "sure": False,
        "is_go_ahead": False,
        "doubts": list(a.doubts),
        "later_today": [],
        "reasons": [],
        "rests_on": a.rests_on,
        "question": dataclasses.asdict(asked.question),
        "window": dataclasses.asdict(asked.window),
        "carried_over": asked.carried,
        "strips_left_out": asked.left_out,
        "firm": dataclasses.asdict(asked.rests) if asked.rests else None,
        "recorded": dialled.recorded,
        **signs.document(a),
    }


def page(dialled: Dialled, *, pull: bool = False) -> list[str]:
    """All that the answer rests on, folded to the screen; `pull`: a strip waits for its pull."""
    units = dialled.asked.units
    if dialled.advice.forecast is None:
        parts = [_where(dialled), "", *signs.stopped(dialled.advice, units), *_rests(dialled)]
        return [wrapped(part) if part else "" for part in parts]
    parts = [
        _where(dialled),
        "",
        *_certainty(dialled),
        *_width(dialled),
        *_range(dialled, units),
        *signs.open_questions(dialled.advice, dialled.asked),
        *signs.lines(dialled.advice.signs, units),
        "",
        *_rests(dialled),
        *why.lines(dialled, units),
        *([] if pull else _next(dialled, units)),
        "",
        _(
            "Advice is not a go-ahead: run a strip at it, let it cool, pull it. The sheet maker's instructions come first."
        ),
    ]
    return [wrapped(part) if part else "" for part in parts]


def on_dial(asked: Asked, speed: float | None) -> str:
    """A speed as the machine's dial shows it, and in the job's unit where that differs."""
    if speed is None:
        return "–"
    dial, units = asked.dial, asked.units
    shown = show.dial_mark(dial.mark(speed), dial.unit)
    usual = "ft/min" if units == "us" else "m/min"
    if dial.unit == usual and not dial.marks:
        return shown
    return _("{dial} on the dial ({true})", dial=shown, true=show.speed(speed, units))


def _where(dialled: Dialled) -> str:
    q = dialled.asked.question
    where = _(
        "{machine}, {sheet}, {lap}",
        machine=show.safe(q.machine),
        sheet=show.safe(q.sheet),
        lap=_(q.lap),
    )
    return f"{where}; {_conditions(dialled)}"


def _conditions(dialled: Dialled) -> str:
    q, units = dialled.asked.question, dialled.asked.units
    shown = [
        (label, text, column)
        for label, text, value, column in (
            (_("sheet"), show.temperature(q.sheet_c, units), q.sheet_c, "sheet_c"),
            (_("ambient"), show.temperature(q.ambient_c, units), q.ambient_c, "ambient_c"),
            (_("wind"), show.wind(q.wind_m_per_s, units), q.wind_m_per_s, "wind_m_per_s"),
            (_("line"), f"{q.line_v or 0:.0f} V", q.line_v, "line_v"),
        )
        if value is not None
    ]
    if not shown:
        return _("no conditions read: a mild day is assumed, and that is a guess")
    parts = []
    for label, text, column in shown:
        read_at = dialled.asked.carried.get(column)
        age = _(" (carried over, read {at})", at=show.clock(read_at, date=False)) if read_at else ""
        parts.append(f"{label} {text}{age}")
    return ", ".join(parts)


def _certainty(dialled: Dialled) -> list[str]:
    a = dialled.advice
    chance = show.percent(dialled.advised.chance, down=True)
    if a.sure:
        return [
            _(
                "SURE ENOUGH: {chance} chance of a lap inside the limits, without bubbling, bonded.",
                chance=chance,
            ),
            *_bond_unseen(a),
        ]
    lines = [
        _(
            "NOT SURE: {chance} chance of a lap inside the limits, without bubbling, bonded.",
            chance=chance,
        )
    ]
    return lines + [f"- {doubt(code)}" for code in a.doubts]


def bond_pulled(advice: Advice) -> str:
    """When what was last pulled and held was welded; empty where nothing was looked at since."""
    seen = advice.bond_seen
    if seen is None or not seen.more_since or seen.hour is None:
        return ""
    return day_ahead.clock(seen.hour, to_min=1)


def _bond_unseen(advice: Advice) -> list[str]:
    at = bond_pulled(advice)
    if not at:
        return []
    return [
        _(
            "- Since {at} nothing welded was pulled: a bleed check shows the heat, not the bond. A strip or a sample would.",
            at=at,
        )
    ]


def doubt(code: str) -> str:
    """What keeps advice from being sure, in words."""
    return {
        "chance_too_low": _("that chance is under the job's threshold"),
        "marks_unknown": _(
            "the speed behind a mark welded at today is not known: weldcal machine measure"
        ),
        "no_strip_today": _("no strip today with this machine"),
        "nothing_tried": _("no strip on this sheet and lap kind yet"),
        "machine_untried": _("no strip with this machine yet"),
        "machine_repaired": _("no strip since this machine was repaired"),
        "speed_beyond_strips": _("the speed lies beyond what the strips bracket"),
        "nozzle_beyond_strips": _("the nozzle temperature lies beyond what was tried"),
        "weather_beyond_strips": _("the weather lies beyond what was tried"),
        "weld_not_known": _("too few strips yet to know a good weld here"),
        "sheet_read_long_ago": _("the sheet was read too long ago"),
        "may_bubble_heavily": _("it may bubble heavily"),
        "may_be_broken": _("machine or sheet may not be what it was"),
        "signs_contradict": _("today's strips do not fit together: see the sign below"),
        "last_failed_here": _("the last one at about this setting failed"),
        "last_at_edge": _("the last one at about this setting lay at the very edge of the limits"),
        "far_from_tried": _("the sheet is far from anything tried"),
        "bond_not_seen": _("nothing welded today was pulled and held"),
        "bond_long_ago": _("what was last pulled and held was welded too long ago"),
    }.get(code, code.replace("_", " "))


def _width(dialled: Dialled) -> list[str]:
    f, w, units = dialled.advised, dialled.asked.window, dialled.asked.units
    chances = _(
        "Too little {little}, too much {much}, bubbling {bubbling}, cold bond {cold}.",
        little=show.percent(f.chance_too_little),
        much=show.percent(f.chance_too_much),
        bubbling=show.percent(f.chance_bubbling),
        cold=show.percent(f.chance_cold),
    )
    if not w.by_bleed_out:
        return [
            _("This sheet is judged by bond and bubbling; bleed-out says nothing."),
            _(
                "Bubbling {bubbling}, cold bond {cold}.",
                bubbling=show.percent(f.chance_bubbling),
                cold=show.percent(f.chance_cold),
            ),
        ]
    return [
        _(
            "Bleed-out {width} (90 %: {low} to {high}); limits {least} to {most}.",
            width=show.width(f.width_mm, units),
            low=show.width(f.width_low_mm, units),
            high=show.width(f.width_high_mm, units),
            least=show.limit_width(w.low_mm, units),
            most=show.limit_width(w.high_mm, units),
        ),
        chances,
        signs.bubbling_known(),
    ]


def _range(dialled: Dialled, units: str) -> list[str]:
    a = dialled.advice
    lines = []
    if a.speed_low is not None:
        lines.append(
            _(
                "Speeds that keep {chance}: {low} to {high}.",
                chance=show.percent(dialled.asked.window.threshold),
                low=show.speed(a.speed_low, units),
                high=show.speed(a.speed_high, units),
            )
        )
    if a.holds_until_sheet_c is not None:
        lines.append(
            _(
                "Holds until the sheet is {sheet}; from there {speed}.",
                sheet=show.temperature(a.holds_until_sheet_c, units),
                speed=on_dial(dialled.asked, a.speed_from_there),
            )
        )
    return lines + day_ahead.lines(dialled.asked, a.steps)


def _rests(dialled: Dialled) -> list[str]:
    r = dialled.advice.rests_on
    parts = [
        _("{strips} today", strips=_strips_counted(r["strips_today"])),
        _("{strips} before", strips=_strips_counted(r["strips_earlier"]))
        + (plural(" on {n} day", " on {n} days", r["days_earlier"]) if r["days_earlier"] else ""),
    ]
    if r.get("bleed_checks"):
        parts.append(plural("{n} bleed check", "{n} bleed checks", r["bleed_checks"]))
    if r.get("peel_samples"):
        parts.append(plural("{n} peel sample", "{n} peel samples", r["peel_samples"]))
    if r.get("set_aside"):
        parts.append(plural("{n} set aside as wild", "{n} set aside as wild", r["set_aside"]))
    if dialled.asked.left_out:
        parts.append(
            plural(
                "{n} left out: no speed known behind its mark",
                "{n} left out: no speed known behind their marks",
                dialled.asked.left_out,
            )
        )
    return [_("Rests on {what}.", what=", ".join(parts)), *_firm(dialled)]


def _firm(dialled: Dialled) -> list[str]:
    """What other jobs it rests on, and how near they are."""
    f, q = dialled.asked.rests, dialled.asked.question
    if f is None:
        return []
    machine, sheet = show.safe(q.machine), show.safe(q.sheet)
    things = (("machine", q.machine, f.machine_shared), ("sheet", q.sheet, f.sheet_shared))
    shared = [one for one in things if one[2]]
    parts = [
        plural("{n} job with {name}", "{n} jobs with {name}", f.with_machine, name=machine)
        if f.with_machine
        else _("{name} was on none of them", name=machine),
        plural("{n} with {name}", "{n} with {name}", f.with_sheet, name=sheet)
        if f.with_sheet
        else plural("{n} sheet of its class", "{n} sheets of its class", f.sheets_alike)
        if f.sheets_alike
        else _("no sheet like {name}", name=sheet),
    ]
    if f.machine_shared:
        del parts[0]
    return [
        plural(
            "And on what {n} other job taught: {what}.",
            "And on what {n} other jobs taught: {what}.",
            f.jobs,
            what=", ".join(parts),
        ),
        *(shared_names.leads_to_none(*one) for one in shared),
    ]


def _next(dialled: Dialled, units: str) -> list[str]:
    n = dialled.advice.next_strip
    if n is None:
        return []
    why = {
        "best_setting_teaches_most": _("the likeliest setting, and the one to learn most from"),
        "slower_teaches_more": _("a little slower shows better where good welds end"),
        "faster_teaches_more": _("a little faster shows better where good welds end"),
    }.get(n.reason, n.reason.replace("_", " "))
    return [
        "",
        _(
            "NEXT STRIP: {speed}, nozzle {nozzle} ({why}).",
            speed=on_dial(dialled.asked, n.speed_m_per_min),
            nozzle=show.temperature(n.nozzle_c - dialled.asked.nozzle_offset_k, units),
            why=why,
        ),
    ]


def unrecorded(dialled: Dialled) -> list[str]:
    """The note where the advice could not be recorded."""
    if dialled.recorded:
        return []
    return [_("This advice could not be recorded: the book cannot be written.")]


def _strips_counted(n: int) -> str:
    """`1 strip`, `3 strips`."""
    return plural("{n} strip", "{n} strips", n)
