"""The way round the roof in lines, and as rows of the probe sheet."""

from __future__ import annotations

from weldcal.quality.route import Leg, Route, Task
from weldcal.reports import show
from weldcal.views.walk import SheetLine, WalkingOrder, stops_of
from weldcal.words import _, plural


def lines(found: Route, units: str) -> list[str]:
    """The way, a lap a paragraph."""
    if not found.legs:
        text_lines = [_("Nothing waits to be probed or cut.")]
    else:
        text_lines = [
            plural(
                "{n} lap to go to, in walking order",
                "{n} laps to go to, in walking order",
                len(found.legs),
            )
            + (
                _("; {length} between them.", length=show.distance(found.between_m, units))
                if any(leg.start for leg in found.legs)
                else "."
            )
        ]
    for n, leg in enumerate(found.legs, 1):
        text_lines.append(_head(n, leg))
        text_lines += [f"- {task(one, units)}" for one in leg.tasks]
    text_lines += [
        _("Still warm: {seam}, cold from {clock}.", seam=show.safe(seam), clock=clock)
        for seam, clock in found.warm
    ]
    return text_lines


def walk(found: Route, units: str) -> WalkingOrder:
    """The way as it is drawn: numbers as in its lines."""
    return WalkingOrder(stops_of(found.legs), found.begin, None, tuple(lines(found, units)))


def _head(n: int, leg: Leg) -> str:
    seam = show.safe(leg.seam)
    if leg.turned:
        return _("{n}. {seam}, from its far end", n=n, seam=seam)
    return _("{n}. {seam}", n=n, seam=seam)


def task(one: Task, units: str) -> str:
    """One thing to do on a lap."""
    where = span(one, units)
    sentences = {
        "probe": _("{where}: probe", where=where),
        "probe_again": _("{where}: probe again, {of} was mended", where=where, of=one.of),
        "doubt": _("{where}: probe again, in doubt by {of}", where=where, of=one.of),
        "cut": _("{where}: cut a sample, for {of}", where=where, of=one.of),
        "draw": _("{where}: cut a sample, drawn", where=where),
        "t_joint": _("{where}: T-joint {of}", where=where, of=show.safe(one.of)),
    }
    return sentences[one.code]


def span(one: Task, units: str) -> str:
    """Its stretch, in the order walked."""
    if one.from_m == one.to_m:
        return show.tape(one.from_m, units)
    return _("{a} to {b}", a=show.tape(one.from_m, units), b=show.tape(one.to_m, units))


def rows(found: Route, units: str) -> list[SheetLine]:
    """A row of the probe sheet for each stretch to probe, in walking order, with what it is for."""
    return [
        {
            "name": leg.seam,
            "from_m": one.from_m,
            "to_m": one.to_m,
            "note": "" if one.code == "probe" else task(one, units),
        }
        for leg in found.legs
        for one in leg.tasks
    ]
