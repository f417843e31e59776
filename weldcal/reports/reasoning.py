"""Judgement in words: the go-ahead's standing, power at the machine, dew, drift, charts, doubt.

Invariant: numbers stand beside the rule and its source; what decides beyond them
(a licensed electrician, the sheet maker) is named on the same page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, tzinfo

from weldcal.json_values import JsonObject
from weldcal.physics.dewpoint import Dampness
from weldcal.quality.standing import Trigger
from weldcal.reports import sentences, shortfalls, show
from weldcal.views.dialled import Dialled, First
from weldcal.views.go_ahead import GoAhead
from weldcal.views.measured import AirRead
from weldcal.views.rows import TriedStrip, WatchedHotWork
from weldcal.words import _, mark

_LEVELS = {
    "good": mark("GOOD"),
    "look": mark("LOOK"),
    "strip_again": mark("STRIP AGAIN"),
    "wait": mark("WAIT"),
}


def no_go_ahead(waiting: tuple[str, ...], short: TriedStrip | None, units: str) -> str:
    """What is lacking to a go-ahead where there is none: a pull, or a strip that meets the limits.

    Args:
        waiting: strips that only want their pull.
        short: the newest strip of the day, where it is none.
    """
    if waiting:
        return _(
            "No go-ahead yet. Pull {name} first, when it is cold: weldcal strip pull {name} good",
            name=show.safe(waiting[0]),
        )
    if short is not None:
        whys = shortfalls.listed(short["shortfalls"], units)
        return _(
            "No go-ahead. {name} fell short: {why}. Run a strip: weldcal strip record",
            name=show.safe(short["name"]),
            why="; ".join(whys),
        )
    return _("No go-ahead yet. Run a strip: weldcal strip record")


def go_ahead(
    verdict: GoAhead, speed: str, units: str, zone: tzinfo, until: str | None
) -> list[str]:
    """How a go-ahead stands.

    Args:
        speed: the setting it is for, where it permits welding.
        until: by when somebody has to look again, where it stands, ISO 8601.
    """
    strip = verdict.strip
    lines = [
        _(
            "{level}: go-ahead {name} of {at}, {machine}, {sheet}, {lap}",
            level=_(_LEVELS[verdict.level]) + (f", {speed}" if speed else ""),
            name=strip["name"],
            at=show.clock(strip["seen_local"]),
            machine=show.safe(strip["machine"]),
            sheet=show.safe(strip["sheet"]),
            lap=_(strip["lap"]),
        )
    ]
    lines += [_broken(verdict, trigger, units, zone) for trigger in verdict.triggers]
    if until is not None and verdict.level == "good":
        lines.append(_("Look again by {at}.", at=show.clock(until, date=False)))
    return lines


def _broken(verdict: GoAhead, trigger: Trigger, units: str, zone: tzinfo) -> str:
    """A rule that was broken: since when, what was welded after that, where the rule is from."""
    since = datetime.fromtimestamp(trigger.since_s, UTC).astimezone(zone)
    seams = show.listed(
        list(dict.fromkeys(verdict.seams[r] for r in trigger.runs if r in verdict.seams))
    )
    return _(
        "- {level} since {since}{over}: {why}.{welded} Rule: {source}",
        level=_(_LEVELS[trigger.level]),
        since=_when(since, zone),
        over="" if trigger.until_s is None else " " + _("(over)"),
        why=shortfalls.moved(trigger, units),
        welded=" " + _("Welded after that: {seams}.", seams=seams) if trigger.runs else "",
        source=_(trigger.source),
    )


def to_do(verdict: GoAhead, first: First) -> list[str]:
    """The one thing to do, where it does not simply stand."""
    if verdict.level == "wait":
        return [_("Wait: nobody should weld in this. Read again: weldcal conditions")]
    out = [t for t in verdict.triggers if t.code == "machine_out" and t.until_s is None]
    if verdict.level == "strip_again" and any(t.values["limit"] is None for t in out):
        return [
            _(
                'First find out why strips failed: weldcal machine cause {machine} "WHAT". Then a strip.',
                machine=show.safe(verdict.strip["machine"]),
            )
        ]
    if first.pull:
        return [
            _(
                "Pull {name} first, when it is cold: weldcal strip pull {name} good",
                name=show.safe(first.pull[0]),
            )
        ]
    if verdict.level == "strip_again":
        return [_("Run a strip{start}.", start=_start(first.trial))]
    look = verdict.level == "look"
    if (look and verdict.only_old) or (first.read and not look):
        return [_("Read the sheet now: weldcal conditions --sheet-temp READING")]
    if look and (verdict.also_old or first.read):
        return [
            _(
                "Read the sheet now: weldcal conditions --sheet-temp READING. And make a bleed check: weldcal bleed SEAM PLACE READINGS. Inside the limits, the look is over."
            )
        ]
    if look:
        return [
            _(
                "Make a bleed check now: weldcal bleed SEAM PLACE READINGS. Inside the limits, the look is over."
            )
        ]
    return []


def _start(trial: Dialled | None) -> str:
    """`; start at 5.5 ft/min`; nothing where no speed is advised."""
    if trial is None or trial.advice.forecast is None:
        return ""
    from weldcal.reports.advice import on_dial  # with numpy, which other pages here do without

    speed = on_dial(trial.asked, trial.to_try.speed_m_per_min)
    return _("; start at {speed}", speed=speed)


def waits(triggers: Sequence[Trigger], units: str) -> list[str]:
    """Stop rules broken now, each with its source; nothing where none is."""
    return [
        _(
            "WAIT: {why}. Rule: {source}",
            why=shortfalls.moved(trigger, units),
            source=_(trigger.source),
        )
        for trigger in triggers
    ]


def _when(moment: datetime, zone: tzinfo) -> str:
    """The clock alone for today, the date too for any other day."""
    today = datetime.now(zone).date()
    return f"{moment:%H:%M}" if moment.date() == today else f"{moment:%Y-%m-%d %H:%M}"


def by_hand(go_aheads: Sequence[GoAhead]) -> list[str]:
    """Who may weld by hand, a line each."""
    if not go_aheads:
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
        for one in go_aheads
    ]


def by_hand_document(go_aheads: Sequence[GoAhead]) -> list[JsonObject]:
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
        for one in go_aheads
    ]


# What JSON says where there is no go-ahead.
NONE: JsonObject = {"level": "none", "strip": None, "seen_local": None, "triggers": []}


def go_ahead_document(verdict: GoAhead) -> JsonObject:
    """The same as JSON."""
    from msgspec import structs

    return {
        "level": verdict.level,
        "strip": verdict.strip["name"],
        "seen_local": verdict.strip["seen_local"],
        "triggers": [
            {**structs.asdict(t), "seams": [verdict.seams[r] for r in t.runs if r in verdict.seams]}
            for t in verdict.triggers
        ],
    }


def before_hot_air(
    dampness: Dampness | None, source: str, air: AirRead, units: str
) -> Iterator[str]:
    """Dew, wet sheet, wind and voltage before hot air."""
    if dampness is None:
        yield _(
            "Dew point not known: read ambient, humidity and sheet temperature (weldcal conditions)."
        )
    else:
        verdict = {
            "dry": _("no dew on the sheet"),
            "near_dew": _("NEAR DEW: wipe, warm or wait"),
            "dew": _("DEW on the sheet: wait until it is dry"),
            "frost": _("FROST on the sheet: wait until it is dry"),
        }[dampness.code]
        margin = dampness.margin_k if units == "si" else dampness.margin_k * 9 / 5
        yield _(
            "Dew point {dew}; the sheet is {margin:.0f} {unit} {side}: {verdict}. Margin rule: {source}",
            dew=show.temperature(dampness.dew_point_c, units),
            margin=abs(margin),
            side=_("above") if margin >= 0 else _("below"),
            unit="°C" if units == "si" else "°F",
            verdict=verdict,
            source=_(source),
        )
    if air.damp:
        yield _("The sheet was noted damp: it bubbles and bonds badly; dry it first.")
    for value, text in (
        (air.wind_m_per_s, _("wind {x}", x=show.wind(air.wind_m_per_s, units))),
        (air.line_v, _("line {x:.0f} V under load", x=air.line_v or 0)),
    ):
        if value is not None:
            yield text[0].upper() + text[1:] + "."


def hot_work(rows: list[WatchedHotWork], units: str) -> Iterator[str]:
    """Hot work in lines: permit, what stood ready, end, watch and who stood it."""
    if not rows:
        yield _("No hot work is recorded. Begin it: weldcal hotwork start")
        return
    for row in rows:
        ended = show.clock(row["ended_local"]) if row["ended_local"] else _("not ended")
        marks = f" [{', '.join(_(m) for m in row['marks'])}]" if row["marks"] else ""
        yield (
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
            yield _(
                "  watched by {who}: {found}",
                who=show.safe(row["watched_by"]),
                found=show.safe(row["watch_found"]),
            )
        yield from [f"  {sentences.note(n.code, n.values, units)}" for n in row["watch_notes"]]
