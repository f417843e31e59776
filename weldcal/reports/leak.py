"""Where to search for a leak: one way on the roof, in words and as it is drawn.

Invariant: a place has one number, on the screen, on the drawing and on paper: that of the way.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import structs

from weldcal.json_values import JsonObject
from weldcal.quality.leak import WEIGHTS_SOURCE, Point, Search, Suspect
from weldcal.quality.route import Leg, length
from weldcal.reports import route, show
from weldcal.views.walk import SheetLine, WalkingOrder, stops_of
from weldcal.words import _, mark, plural

_AGAINST = {
    "near": mark("near"),
    "upslope": mark("upslope"),
    "open_finding": mark("open finding"),
    "in_doubt": mark("in doubt"),
    "mended_unprobed": mark("mended and unprobed"),
    "unprobed": mark("unprobed"),
    "warned": mark("warned"),
    "detail": mark("detail, welded by hand"),
    "t_joint": mark("T-joint"),
    "self_probed": mark("probed by its operator"),
}


def lines(name: str, search: Search, spot: Point, units: str) -> list[str]:
    """The way in lines, a place a line, with its points and where they come from."""
    text_lines = [
        _(
            "{name}: where to look, not a cause. Water travels: the wet spot and the hole are seldom one place.",
            name=name,
        )
    ]
    asks = {
        "where_seen": _("was it seen inside or on the roof?"),
        "slope": _("which way does water run (--slope)?"),
    }
    text_lines += [_("Nobody said: {what}", what=asks[code]) for code in search.asks]
    if search.elsewhere:
        text_lines.append(
            plural(
                "Only on {areas}, which is one roof; {n} seam on other roofs is left out.",
                "Only on {areas}, which is one roof; {n} seams on other roofs are left out.",
                search.elsewhere,
                areas=show.listed(list(search.roof)),
            )
        )
    if not search.order:
        text_lines.append(
            _("No seam has a place on the plan: lay the roof out with weldcal roof lay.")
        )
        return text_lines
    n = 0
    for legs in search.rounds:
        text_lines.append(_head(n, legs, spot, units))
        for leg in legs:
            n += 1
            text_lines.append(_stop(n, leg, _of(search, leg), units))
        spot = legs[-1].end or spot
    if more := len(search.order) - n:
        text_lines.append(
            plural(
                "{n} more place has fewer points: weldcal leak search {name} --json.",
                "{n} more places have fewer points: weldcal leak search {name} --json.",
                more,
                name=name,
            )
        )
    return [*text_lines, _("Points: {source}.", source=_(WEIGHTS_SOURCE))]


def _head(before: int, legs: tuple[Leg, ...], begin: Point, units: str) -> str:
    """How many places a round has, and how far it is."""
    walked = length(legs, begin) + sum(abs(leg.tasks[0].to_m - leg.tasks[0].from_m) for leg in legs)
    values = {"length": show.tape(walked, units)}
    if not before:
        return plural(
            "First, from the spot, {n} place with the most points; {length} to walk:",
            "First, from the spot, the {n} places with the most points; {length} to walk:",
            len(legs),
            **values,
        )
    return plural(
        "Then {n} place with fewer; {length} to walk:",
        "Then {n} places with fewer; {length} to walk:",
        len(legs),
        **values,
    )


def _way(search: Search) -> list[Leg]:
    """All rounds, one after the other."""
    return [leg for legs in search.rounds for leg in legs]


def _of(search: Search, leg: Leg) -> Suspect:
    """The place that a leg goes to."""
    (task,) = leg.tasks
    return search.order[int(task.of) - 1]


def _stop(n: int, leg: Leg, place: Suspect, units: str) -> str:
    start = leg.start or place.nearest
    return _(
        "{n}. {what}, at {where}, {away} away: {points:.0f} points ({why})",
        n=n,
        what=", ".join(part for part in (show.safe(place.name), _along(leg, place, units)) if part),
        where=f"({show.tape(start[0], units)}, {show.tape(start[1], units)})",
        away=show.tape(place.distance_m, units),
        points=place.points,
        why=_why(place) or _("nothing is known against it"),
    )


def _why(place: Suspect) -> str:
    return ", ".join(
        f"{_(_AGAINST.get(r.code, r.code))} {r.points:.0f}"
        for r in place.reasons
        if r.points >= 0.5
    )


def _along(leg: Leg, place: Suspect, units: str) -> str:
    """Which place of its lap, as it is walked; nothing for a T-joint or a detail."""
    task = leg.tasks[0]
    where = route.span(task, units)
    if place.what:
        return _("{finding} at {where}", finding=place.what, where=where)
    return where if task.to_m != task.from_m else ""


def walk(name: str, search: Search, spot: Point, units: str) -> WalkingOrder:
    """The way as it is drawn: numbers as in its lines."""
    return WalkingOrder(stops_of(_way(search)), spot, spot, tuple(lines(name, search, spot, units)))


def rows(search: Search) -> Iterator[SheetLine]:
    """A row of the probe sheet for each place, in the order walked, with what is known against it."""
    for leg in _way(search):
        (task,), place = leg.tasks, _of(search, leg)
        reasons = ", ".join(
            _(_AGAINST.get(r.code, r.code))
            for r in place.reasons
            if r.code not in ("near", "upslope")
        )
        note = ", ".join(part for part in (place.what, reasons) if part)
        yield {"name": leg.seam, "from_m": task.from_m, "to_m": task.to_m, "note": note}


def document(search: Search) -> JsonObject:
    """The search as JSON, metres: places by points, and the way to the first of them."""
    order = [
        {**structs.asdict(s), "reasons": [structs.asdict(r) for r in s.reasons]}
        for s in search.order
    ]
    way = [
        {
            "name": leg.seam,
            "from_m": leg.tasks[0].from_m,
            "to_m": leg.tasks[0].to_m,
            "start": leg.start,
            "end": leg.end,
            "points": _of(search, leg).points,
            "rank": int(leg.tasks[0].of),
        }
        for leg in _way(search)
    ]
    return {
        "way": way,
        "order": order,
        "asks": list(search.asks),
        "cautions": list(search.cautions),
        "roof": list(search.roof),
        "elsewhere": search.elsewhere,
        "weights_source": WEIGHTS_SOURCE,
    }
