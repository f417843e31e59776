"""What is in doubt, and where faults come from: in words.

Invariant: each doubt names the failure it comes from and what would clear it.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal import settings
from weldcal.json_values import JsonObject
from weldcal.quality.doubt import Clear, Cut, Doubt, Doubts, Place
from weldcal.quality.faults import FaultRate, Faults, Overlap
from weldcal.quality.history import HAND
from weldcal.quality.sampling import RandomPlace
from weldcal.reports import show
from weldcal.reports.dossier.lengths import probed
from weldcal.words import _, mark, plural

# Failures shown in full: each takes a line a seam, and nobody reads a thousand.
MOST_IN_FULL = 20


def page(
    doubts: Doubts,
    seams: dict[str, str],
    strips: dict[str, str],
    hidden: set[str],
    units: str,
    *,
    every: bool = False,
) -> list[str]:
    """The doubts in lines, the longest first.

    Args:
        seams, strips: their names, by key and id.
        hidden: keys of seams covered now.
        every: all of them, however many.
    """
    if not doubts.doubts:
        lines = [_("Nothing is in doubt: no check, probe or sample has failed.")]
    else:
        lines = []
    called: dict[Place, str] = {}  # the same places stand in many doubts

    def place_of(place: Place) -> str:
        if place not in called:
            called[place] = _place(place, seams, units)
        return called[place]

    longest = sorted(doubts.doubts, key=lambda d: -d.length_m)
    for doubt in longest if every else longest[:MOST_IN_FULL]:
        lines.append(_head(doubt, strips, units))
        lines += [f"- {place_of(place)}" for place in doubt.places]
        for clear in doubt.clears:
            what = _clear(clear, hidden)
            lines.append("- " + what.replace("{place}", place_of(clear.place)))
    if not every and len(longest) > MOST_IN_FULL:
        more = len(longest) - MOST_IN_FULL
        lines.append(_("And {n} more: weldcal doubt --all.", n=more))
    cuts = {place_of(c.place) for d in doubts.doubts for c in d.clears if _is_cut(c, hidden)}
    if len(cuts) > 1:
        lines.append(
            _("Cuts in all, the fewest that tell: {places}.", places=show.listed(sorted(cuts)))
        )
    if doubts.unplaced:
        lines.append(
            _(
                "At places no run is known to have welded: {names}.",
                names=show.listed(list(doubts.unplaced)),
            )
        )
    return lines


def _head(doubt: Doubt, strips: dict[str, str], units: str) -> str:
    """What failed or was found, and how much between which checks it puts in doubt."""
    kinds = {"bleed": _("bleed check"), "walk": _("probing"), "peel": _("pull")}
    values = {
        "name": doubt.failure,
        "kind": kinds[doubt.kind] if doubt.finding is None else _(doubt.finding),
        "length": show.distance(doubt.length_m, units),
        "machine": show.safe(doubt.machine),
        "strip": strips.get(doubt.go_ahead or "", _("no go-ahead")),
        "before": doubt.before or _("the go-ahead"),
        "after": doubt.after or _("the end of what is welded"),
    }
    if doubt.finding is not None and not doubt.beyond:
        return _(
            "{name} ({kind}): only its own place is in doubt, between {before} and {after}.",
            **values,
        )
    if doubt.finding is not None:
        return _(
            "{name} ({kind}) puts {length} welded by {machine} on {strip} in doubt, from {before} to {after}.",
            **values,
        )
    return _(
        "{name} ({kind}) failed: {length} welded by {machine} on {strip} in doubt, from {before} to {after}.",
        **values,
    )


def document(doubts: Doubts, seams: dict[str, str], strips: dict[str, str]) -> JsonObject:
    """The doubts as JSON: names as people know them, metres."""

    def place(one: Place) -> JsonObject:
        return {"seam": seams.get(one.seam, one.seam), "start_m": one.start_m, "end_m": one.end_m}

    return {
        "doubts": [
            {
                "failure": d.failure,
                "kind": d.kind,
                "finding": d.finding,
                "machine": d.machine,
                "go_ahead": strips.get(d.go_ahead or ""),
                "before": d.before,
                "after": d.after,
                "length_m": d.length_m,
                "failed_m": d.failed_m,
                "places": [place(p) for p in d.places],
                "clears": [{"code": c.code, **place(c.place)} for c in d.clears],
            }
            for d in doubts.doubts
        ],
        "unplaced": list(doubts.unplaced),
    }


def _is_cut(clear: Clear, hidden: set[str]) -> bool:
    return clear.code == "cut_here" and clear.place.seam not in hidden


def _clear(clear: Clear, hidden: set[str]) -> str:
    if clear.place.seam in hidden:
        return _("to clear: open up {place}")
    if clear.code == "probe_again":
        return _("to clear: probe again {place}")
    if clear.code == "look_again":
        return _("to clear: look along the edge and read the bleed-out of {place}")
    return _("to clear: cut a sample at {place}")


def _place(place: Place, seams: dict[str, str], units: str) -> str:
    name = show.safe(seams.get(place.seam, place.seam))
    if place.end_m - place.start_m < 1e-3:
        return f"{name} {show.tape(place.start_m, units)}"
    return f"{name} {show.stretches(((place.start_m, place.end_m),), units)}"


def fewest(cuts: Sequence[Cut], seams: dict[str, str], units: str) -> list[str]:
    """The fewest cuts that end all of it, in a line each, and what is done about what failed."""
    if not cuts:
        return []
    strips = dict.fromkeys(name for cut in cuts for name in cut.strips)
    lines = [
        _("Fewest cuts that end it all, if the pulls are good: {n}.", n=len(cuts)),
        *(_cut(cut, seams, units) for cut in cuts),
    ]
    if any(name not in strips for cut in cuts for name in cut.clears):
        lines.append(_("Mend the lap where it failed."))
    if strips:
        names = show.listed(list(strips))
        lines.append(_("A strip failed ({names}): run a new one before you weld on.", names=names))
    return lines


def _cut(cut: Cut, seams: dict[str, str], units: str) -> str:
    values = {
        "place": _place(cut.place, seams, units),
        "failures": show.listed(list(cut.clears)),
    }
    if cut.drawn:
        return _("- {place}, for {failures}; drawn already", **values)
    return _("- {place}, for {failures}", **values)


def cuts(
    wanted: Sequence[Cut],
    rest: Sequence[RandomPlace],
    name: str | None,
    seed: int | None,
    seams: dict[str, str],
    units: str,
) -> list[str]:
    """Cuts beside failures, and those of the sample plan, in lines."""
    lines = fewest(wanted, seams, units) or [_("Nothing is in doubt that a cut would end.")]
    if name is not None:
        lines.append(_("For the plan, {name}, drawn with seed {seed}:", name=name, seed=seed))
    elif rest:
        lines.append(_("For the plan, drawn already:"))
    for one in rest:
        seam = show.safe(seams.get(one.seam, one.seam))
        lines.append(f"- {seam} {show.tape(one.at_m, units)}")
    total = len(wanted) + len(rest)
    lines.append(plural("{n} cut in all.", "{n} cuts in all.", total))
    return lines


def cuts_document(
    wanted: Sequence[Cut],
    rest: Sequence[RandomPlace],
    name: str | None,
    seed: int | None,
    seams: dict[str, str],
) -> JsonObject:
    """The same as JSON, metres."""
    return {
        "for_doubt": [
            {
                "seam": seams.get(c.place.seam, c.place.seam),
                "at_m": c.place.start_m,
                "clears": list(c.clears),
                "drawn": c.drawn,
            }
            for c in wanted
        ],
        "for_plan": [{"seam": seams.get(p.seam, p.seam), "at_m": p.at_m} for p in rest],
        "draw": name,
        "seed": seed,
    }


# The record's classes of warmth as a job in degrees Fahrenheit reads them.
_WARMTH_US = {
    "below 10 °C": mark("below 50 °F"),
    "10 to 30 °C": mark("50 to 86 °F"),
    "above 30 °C": mark("above 86 °F"),
}


def _group(rate: FaultRate, units: str) -> str:
    """`operator Ana Ruiz`; a level that names its factor stands alone."""
    level = _level(rate, units)
    alone = rate.factor == "kind" or level.startswith(rate.factor)
    return level if alone else f"{_(rate.factor)} {level}"


def _level(rate: FaultRate | Overlap, units: str) -> str:
    """A name as typed; the program's own word in the reader's language."""
    if rate.factor == "weather" and units == "us":
        return _(_WARMTH_US[rate.level])
    ours = rate.factor in ("hour", "weather", "go-ahead", "kind", "lap") or rate.level == HAND
    return _(rate.level) if ours else show.safe(rate.level)


_LABEL = 16  # columns of a name beside the picture


def forest(rates: Faults, units: str) -> list[str]:
    """Each group's rate and interval on one scale: `[` and `]` are its ends, o the rate itself."""
    columns = settings.screen_columns()
    if len(rates.rates) < 2 or settings.linear() or columns < _LABEL + 13:
        return []
    wide = max(10, min(60, columns - _LABEL - 3))
    most = max(rate.high for rate in rates.rates) or 1.0

    def column(rate: float) -> int:
        return min(wide - 1, round(rate / most * (wide - 1)))

    lines = []
    for rate in rates.rates:
        low, at, high = (column(value) for value in (rate.low, rate.per_100ft, rate.high))
        row = [" " if n < low or n > high else "-" for n in range(wide)]
        row[low], row[high] = "[", "]"
        row[at] = "o"
        label = show.safe(_group(rate, units))
        label = label if len(label) <= _LABEL else label[: _LABEL - 1] + "…"
        lines.append(f"{label:<{_LABEL}} |{''.join(row)}")
    top = show.per_hundred(most, units)
    scale = _("0 to {most:.1f} faults per {per}", most=top, per=show.hundred(units))
    return [*lines, scale]


def faults(rates: Faults, units: str) -> list[str]:
    """Fault rates in lines, by factor."""
    lines = [_rate(rate, units) for rate in rates.rates]
    if rates.probed_welded_over_m:
        whole = probed(rates.probed_m, rates.probed_welded_over_m, units)
        lines.append(_("Probed in all: {length}.", length=whole))
    lines.append(
        _(
            "{conf:.0f} % intervals, allowing for faults that come in clumps; {n} groups looked at.",
            conf=100 * rates.confidence,
            n=rates.looked_at,
        )
    )
    if rates.rough:
        lines.append(
            _("Few faults: even the clumping is a guess. Look at the work, not at the people.")
        )
    return lines


_FLAGS = {
    "within_chance": mark("within chance"),
    "one_of_many": mark("one of many looked at: likely chance"),
    "stands_out": mark("STANDS OUT"),
    "too_few": mark("too few faults to tell"),
}


def _rate(rate: FaultRate, units: str) -> str:
    """A group's rate with its interval, and whether it stands out."""
    confounded = [f"{_(o.factor)} {_level(o, units)}" for o in rate.confounded]
    tail = (
        _("; cannot be told apart from {what}", what=show.listed(confounded)) if confounded else ""
    )
    return _(
        "- {group}: {rate:.2f} per {per} ({low:.2f} to {high:.2f}), {faults} in {length} probed{flag}{tail}",
        group=_group(rate, units),
        per=show.hundred(units),
        faults=plural("{n} fault", "{n} faults", rate.faults),
        rate=show.per_hundred(rate.per_100ft, units),
        low=show.per_hundred(rate.low, units),
        high=show.per_hundred(rate.high, units),
        length=show.distance(rate.length_m, units),
        flag=f"; {_(_FLAGS[rate.flag])}" if rate.flag else "",
        tail=tail,
    )
