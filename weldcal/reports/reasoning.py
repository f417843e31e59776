"""Judgement in words: the go-ahead's standing, power at the machine, dew, drift, charts, doubt.

Invariant: numbers stand beside the rule and its source; what decides beyond them
(a licensed electrician, the sheet maker) is named on the same page.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from msgspec import to_builtins

from weldcal.physics.dewpoint import Dampness
from weldcal.physics.power import BRANCH_SHARE, SHARE_SOURCE, TOTAL_SHARE
from weldcal.quality.measure import (
    HEAT_TOLERANCE_K,
    SPEED_TOLERANCE,
    TOLERANCE_SOURCE,
    Drift,
    HeatCheck,
)
from weldcal.reports import sentences, show
from weldcal.views.go_ahead import GoAhead
from weldcal.views.measured import AirRead, Drifted, Heats
from weldcal.views.rows import MarkedMeasure, WatchedHotWork
from weldcal.words import _, mark, number

_LEVELS = {
    "good": mark("GOOD"),
    "look": mark("LOOK"),
    "strip_again": mark("STRIP AGAIN"),
    "wait": mark("WAIT"),
}


def no_go_ahead(waiting: tuple[str, ...]) -> str:
    """What is lacking to a go-ahead where there is none: a pull, or a strip."""
    if waiting:
        return _(
            "No go-ahead yet. Pull {name} first, when it is cold: weldcal strip pull {name} good",
            name=show.safe(waiting[0]),
        )
    return _("No go-ahead yet. Run a strip: weldcal strip record")


def go_ahead(
    found: GoAhead, speed: str, start: str | None, units: str, zone: Any, until: str | None
) -> list[str]:
    """How a go-ahead stands.

    Args:
        speed: the setting it is for, where it permits welding; else the speed to start with.
        until: by when somebody has to look again, where it stands, ISO 8601.
    """
    strip = found.strip
    lines = [
        _(
            "{level}: go-ahead {name} of {at}, {machine}, {sheet}, {lap}",
            level=_(_LEVELS[found.level]) + (f", {speed}" if speed else ""),
            name=strip["name"],
            at=show.clock(strip["seen_local"]),
            machine=show.safe(strip["machine"]),
            sheet=show.safe(strip["sheet"]),
            lap=_(strip["lap"]),
        )
    ]
    for trigger in found.triggers:
        since = datetime.fromtimestamp(trigger.since_s, UTC).astimezone(zone)
        over = "" if trigger.until_s is None else " " + _("(over)")
        why = sentences.shortfall(f"moved_{trigger.code}", dict(trigger.values), units)
        seams = show.listed(
            list(dict.fromkeys(found.seams[r] for r in trigger.runs if r in found.seams))
        )
        lines.append(
            _(
                "- {level} since {since}{over}: {why}.{welded} Rule: {source}",
                level=_(_LEVELS[trigger.level]),
                since=_when(since, zone),
                over=over,
                why=why,
                welded=" " + _("Welded after that: {seams}.", seams=seams) if trigger.runs else "",
                source=_(trigger.source),
            )
        )
    if until is not None and found.level == "good":
        lines.append(_("Look again by {at}.", at=show.clock(until, date=False)))
    if found.level == "wait":
        lines.append(_("Wait: nobody should weld in this. Read again: weldcal conditions"))
    elif found.level == "strip_again":
        lines.append(
            _("Run a strip{start}.", start=_("; start at {speed}", speed=start) if start else "")
        )
    elif found.level == "look" and found.only_old:
        lines.append(_("Read the sheet now: weldcal conditions --sheet-temp 74F"))
    elif found.level == "look":
        lines.append(
            _(
                "Make a bleed check now: weldcal bleed SEAM PLACE READINGS. Inside the limits, the look is over."
            )
        )
    return lines


def waits(found: Any, units: str) -> list[str]:
    """Stop rules broken now, each with its source; nothing where none is."""
    return [
        _(
            "WAIT: {why}. Rule: {source}",
            why=sentences.shortfall(f"moved_{trigger.code}", dict(trigger.values), units),
            source=_(trigger.source),
        )
        for trigger in found
    ]


def _when(moment: datetime, zone: Any) -> str:
    """The clock alone for today, the date too for any other day."""
    today = datetime.now(zone).date()
    return f"{moment:%H:%M}" if moment.date() == today else f"{moment:%Y-%m-%d %H:%M}"


def hands(found: Sequence[GoAhead]) -> list[str]:
    """Who may weld by hand, a line each."""
    if not found:
        return [_("No hand strip has met the limits: weldcal strip record --by-hand --tool NAME")]
    return [
        _(
            "{level}: {by} with {tool} on {sheet}, {lap}: strip {name} of {at}",
            level=_(_LEVELS[one.level]),
            by=show.safe(one.strip["seen_by"]),
            tool=show.safe(one.strip["machine"]),
            sheet=show.safe(one.strip["sheet"]),
            lap=_(one.strip["lap"]),
            name=one.strip["name"],
            at=show.clock(one.strip["seen_local"]),
        )
        for one in found
    ]


def hands_document(found: Sequence[GoAhead]) -> list[dict[str, Any]]:
    """The same as JSON."""
    return [
        {
            "person": one.strip["seen_by"],
            "tool": one.strip["machine"],
            "sheet": one.strip["sheet"],
            "lap": one.strip["lap"],
            "level": one.level,
            "strip": one.strip["name"],
            "seen_local": one.strip["seen_local"],
        }
        for one in found
    ]


# What JSON says where there is no go-ahead.
NONE: dict[str, Any] = {"level": "none", "strip": None, "seen_local": None, "triggers": []}


def go_ahead_document(found: GoAhead) -> dict[str, Any]:
    """The same as JSON."""
    from msgspec import structs

    return {
        "level": found.level,
        "strip": found.strip["name"],
        "seen_local": found.strip["seen_local"],
        "triggers": [
            {**structs.asdict(t), "seams": [found.seams[r] for r in t.runs if r in found.seams]}
            for t in found.triggers
        ],
    }


_POWER_CAUTIONS = {
    "ampacity": mark("ampacity: what the conductor may carry without overheating"),
    "cord_rating": mark("the cord's own rating and length"),
    "coiling": mark("a coiled cord overheats: uncoil it"),
    "ground_fault": mark("ground-fault protection"),
    "licensed_electrician": mark("a licensed electrician"),
}


def power(supply: Any, drop: Any, answer: Any, units: str) -> list[str]:
    """What a cord does to the voltage, and what gauge would hold a drop."""
    lines = []
    if drop is not None:
        lines.append(
            _(
                "{cord}, {length} one way, {amps:.1f} A: {v:.1f} V lost ({share:.1f} %), {left:.0f} V at the machine.",
                cord=drop.conductor,
                length=show.distance(supply.length_m, units),
                amps=drop.current_a,
                v=drop.drop_v,
                share=100 * drop.share,
                left=drop.machine_v,
            )
        )
        lines.append(
            _(
                "The heater has {share:.1f} % less power than with no cord (power goes as V²).",
                share=100 * drop.heater_lost,
            )
        )
        if drop.share > TOTAL_SHARE:
            lines.append(
                _("That is more than the {total:.0f} % advised in all.", total=100 * TOTAL_SHARE)
            )
    best = answer.drop
    if best is None:
        lines.append(
            _(
                "No conductor of the table holds {most:.0f} %: shorten the cord or feed it otherwise.",
                most=100 * answer.most_share,
            )
        )
    else:
        lines.append(
            _(
                "{cord} would lose {share:.1f} % (aim {most:.0f} %).",
                cord=best.conductor,
                share=100 * best.share,
                most=100 * answer.most_share,
            )
        )
    lines.append(_("What is advised: {source}.", source=_(SHARE_SOURCE)))
    lines.append(_("Voltage drop alone never decides a cord. These decide:"))
    return lines + [f"- {_(_POWER_CAUTIONS[c])}" for c in answer.cautions]


def power_document(drop: Any, answer: Any) -> dict[str, Any]:
    """The same as JSON."""
    return {
        "drop": to_builtins(drop),
        "gauge": to_builtins(answer.drop),
        "cautions": list(answer.cautions),
        "most_share": answer.most_share,
        "branch_share": BRANCH_SHARE,
        "total_share": TOTAL_SHARE,
        "share_source": SHARE_SOURCE,
    }


def before_hot_air(dampness: Dampness | None, source: str, air: AirRead, units: str) -> list[str]:
    """Dew, wet sheet, wind and voltage before hot air."""
    lines = []
    if dampness is None:
        lines.append(
            _(
                "Dew point not known: read ambient, humidity and sheet temperature (weldcal conditions)."
            )
        )
    else:
        verdict = {
            "dry": _("no dew on the sheet"),
            "near_dew": _("NEAR DEW: wipe, warm or wait"),
            "dew": _("DEW on the sheet: wait until it is dry"),
            "frost": _("FROST on the sheet: wait until it is dry"),
        }[dampness.code]
        margin = dampness.margin_k if units == "si" else dampness.margin_k * 9 / 5
        lines.append(
            _(
                "Dew point {dew}; the sheet is {margin:.0f} {unit} {side}: {verdict}. Margin rule: {source}",
                dew=show.temperature(dampness.dew_point_c, units),
                margin=abs(margin),
                side=_("above") if margin >= 0 else _("below"),
                unit="°C" if units == "si" else "°F",
                verdict=verdict,
                source=_(source),
            )
        )
    if air.damp:
        lines.append(_("The sheet was noted damp: it bubbles and bonds badly; dry it first."))
    for value, text in (
        (air.wind_m_per_s, _("wind {x}", x=show.wind(air.wind_m_per_s, units))),
        (air.line_v, _("line {x:.0f} V under load", x=air.line_v or 0)),
    ):
        if value is not None:
            lines.append(text[0].upper() + text[1:] + ".")
    return lines


def measured(found: Drifted, heats: Heats, units: str) -> list[str]:
    """A machine's measurements and what they say."""
    lines, drift = [], found.drift
    for row, check in found.speeds:
        ratio = (
            _("nothing was believed of this mark")
            if check.ratio is None or check.low is None or check.high is None
            else _(
                "{moved:+.1f} % against the dial ({low:+.1f} to {high:+.1f})",
                moved=100 * (check.ratio - 1),
                low=100 * (check.low - 1),
                high=100 * (check.high - 1),
            )
        )
        lines.append(
            f"- {show.clock(row['seen_local'])} {number(check.mark, 'g')}: {show.speed(check.speed_m_per_min, units, 2)}, {ratio}; {show.safe(row['seen_by'])}"
        )
    state = {
        None: _("No measurement can be compared yet."),
        "within": _("WITHIN: the dial holds."),
        "drifted": _("DRIFTED: the dial no longer tells the speed."),
        "cannot_tell": _(
            "CANNOT TELL: measure over a longer distance, at least {distance}, three runs of it.",
            distance=show.distance(drift.measure_over_m, units),
        ),
    }[drift.state]
    lines.append(state)
    if drift.state == "drifted" and drift.ratio:
        lines += _drifted(drift, found.affected)
    lines += [_nozzle_measured(row, check, units) for row, check in heats]
    if found.speeds or heats:
        heat = HEAT_TOLERANCE_K * (9 / 5 if units == "us" else 1)
        lines.append(
            _(
                "Judged by ±{share:g} % of speed and ±{heat:g} °{unit} of nozzle heat: {source}.",
                share=100 * SPEED_TOLERANCE,
                heat=heat,
                unit="F" if units == "us" else "C",
                source=_(TOLERANCE_SOURCE),
            )
        )
    return lines


def _drifted(drift: Drift, affected: tuple[str, ...]) -> list[str]:
    """What a drifted dial means for what is welded next and was welded before."""
    return [
        _(
            "A mark runs at {r:.2f} of its speed. Advice reckons with that already: set the mark it says.",
            r=drift.ratio,
        ),
        _(
            "Seams welded since the last good check ran at {low:.0f} to {high:.0f} % of the speed recorded: {seams}.",
            low=100 * drift.seams_low,
            high=100 * drift.seams_high,
            seams=show.listed(list(affected)),
        ),
    ]


def _nozzle_measured(row: MarkedMeasure, check: HeatCheck, units: str) -> str:
    """A nozzle's air as measured, against what was set."""
    verdict = {
        "within": _("within what a thermometer tells"),
        "drifted": _("OFF: advice reckons with it"),
        "cannot_tell": _("cannot tell; advice reckons with it"),
    }[check.state]
    return _(
        "- {at} nozzle set to {set}, measured {measured}: {offset:+.0f} °; {verdict}",
        at=show.clock(row["seen_local"]),
        set=show.temperature(row["nozzle_set_c"], units),
        measured=show.temperature(row["nozzle_measured_c"], units),
        offset=check.offset_k * (9 / 5 if units == "us" else 1),
        verdict=verdict,
    )


def measured_document(found: Drifted, heats: Heats) -> dict[str, Any]:
    """A machine's measurements as JSON: SI units, times on the job's clock."""
    drift = found.drift
    return {
        "checks": [
            {
                "seen_local": row["seen_local"],
                "mark": check.mark,
                "speed_m_per_min": check.speed_m_per_min,
                "ratio": check.ratio,
                "ratio_low": check.low,
                "ratio_high": check.high,
                "state": check.state,
                "runs": check.runs,
            }
            for row, check in found.speeds
        ],
        "state": drift.state,
        "ratio": drift.ratio,
        "seams_ratio_low": drift.seams_low,
        "seams_ratio_high": drift.seams_high,
        "seams": list(found.affected),
        "measure_over_m": drift.measure_over_m,
        "speed_tolerance": SPEED_TOLERANCE,
        "nozzle_tolerance_k": HEAT_TOLERANCE_K,
        "tolerance_source": TOLERANCE_SOURCE,
        "nozzle": [
            {
                "seen_local": row["seen_local"],
                "set_c": row["nozzle_set_c"],
                "measured_c": row["nozzle_measured_c"],
                "offset_k": check.offset_k,
                "state": check.state,
            }
            for row, check in heats
        ],
    }


def hot_work(rows: list[WatchedHotWork], units: str) -> list[str]:
    """Hot work in lines: permit, what stood ready, end, watch and who stood it."""
    if not rows:
        return [_("No hot work is recorded. Begin it: weldcal hotwork start")]
    lines = []
    for row in rows:
        ended = show.clock(row["ended_local"]) if row["ended_local"] else _("not ended")
        marks = f" [{', '.join(_(m) for m in row['marks'])}]" if row["marks"] else ""
        lines.append(
            _(
                "- {name} {at}, permit {permit}, {extinguisher}, deck {deck}; {by}; ended {ended}; watch {watch:.0f} min ({source})",
                name=row["name"],
                at=show.clock(row["seen_local"]),
                permit=show.safe(row["permit"]),
                extinguisher=show.safe(row["extinguisher"]),
                deck=show.safe(row["deck"]),
                by=show.safe(row["seen_by"]),
                ended=ended,
                watch=row["watch_min"],
                source=show.safe(row["watch_source"]),
            )
            + marks
        )
        if row["watched_by"]:
            lines.append(
                _(
                    "  watched by {who}: {found}",
                    who=show.safe(row["watched_by"]),
                    found=show.safe(row["watch_found"]),
                )
            )
        lines += [f"  {sentences.note(n.code, n.values, units)}" for n in row["watch_notes"]]
    return lines
