"""The roof drawn in letters, to scale: every seam where it lies, its state by shape.

Invariant: a seam is drawn with the shape of its state, so that the picture
reads in black and white; where two meet, the one that needs a person is on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from weldcal.json_values import JsonObject
from weldcal.quality.seam import IN_PART, IN_WORK, MENDED, NOT_STARTED, OPEN, PROBED, UNPROBED
from weldcal.quality.sheets import Flag, LapToWeld, RoofLayout, weld_hours
from weldcal.records.fields import same_name
from weldcal.reports import show
from weldcal.reports.lines import columns as columns_shown
from weldcal.reports.lines import wrapped
from weldcal.reports.terminal import SHAPES
from weldcal.rules import on_plan
from weldcal.views.seam import SeamSeen
from weldcal.views.walk import Stop, WalkingOrder
from weldcal.words import _, mark, plural

WIDEST, MOST_ROWS = 58, 40
# A sign of a terminal is about twice as high as wide.
_TALL = 2.0
_ON_TOP = [PROBED, NOT_STARTED, IN_WORK, IN_PART, UNPROBED, MENDED, OPEN]


class PlacedSeam(Struct, frozen=True):
    """A seam that has a place: its state, and both ends on the plan, m."""

    name: str
    state: str
    start: on_plan.Point
    end: on_plan.Point


def page(
    seams: Sequence[SeamSeen],
    units: str,
    plies: Mapping[str, int] | None = None,
    walk: WalkingOrder | None = None,
) -> list[str]:
    """The drawing, nothing where no seam has a place; y grows upwards. One a ply.

    Args:
        plies: which ply each area is of, by key; all are of the first where not given.
        walk: numbered places to draw on it; plies without any are left out.
    """
    by_ply: dict[int, list[PlacedSeam]] = {}
    for seam_found in seams:
        seam, ends = seam_found["seam"], on_plan.ends(seam_found["seam"])
        if seam and ends:
            ply = (plies or {}).get(same_name(seam["area"] or ""), 1)
            by_ply.setdefault(ply, []).append(
                PlacedSeam(seam_found["name"], seam_found["state"].state, *ends)
            )
    lines = []
    for ply, placed in sorted(by_ply.items()):
        keys = {same_name(seam_found.name) for seam_found in placed}
        stops = [s for s in walk.stops if same_name(s.seam) in keys] if walk else []
        if walk and not stops:
            continue
        lines += [_("Ply {n}:", n=ply)] if len(by_ply) > 1 else []
        lines += _drawn(placed, units, stops, walk.spot if walk else None)
    return lines


def _drawn(
    placed: list[PlacedSeam],
    units: str,
    stops: Sequence[Stop] = (),
    spot: on_plan.Point | None = None,
) -> list[str]:
    xs = [x for s in placed for x in (s.start[0], s.end[0])]
    ys = [y for s in placed for y in (s.start[1], s.end[1])]
    left, low = min(xs), min(ys)
    wide, high = max(max(xs) - left, 0.1), max(max(ys) - low, 0.1)
    columns = min(WIDEST, columns_shown() - 2)
    per_column = max(wide / (columns - 1), high / _TALL / (MOST_ROWS - 1))
    rows = math.ceil(high / per_column / _TALL) + 1
    grid = [[" "] * columns for _row in range(rows)]
    for seam in sorted(placed, key=lambda s: _ON_TOP.index(s.state)):
        sign = SHAPES[seam.state]
        for x, y in _points(seam, per_column):
            column = min(round((x - left) / per_column), columns - 1)
            row = rows - 1 - min(round((y - low) / per_column / _TALL), rows - 1)
            grid[row][column] = sign

    def cell(x: float, y: float) -> tuple[int, int]:
        row = rows - 1 - min(max(round((y - low) / per_column / _TALL), 0), rows - 1)
        return row, min(max(round((x - left) / per_column), 0), columns - 1)

    _number(grid, [(str(stop.n), *cell(*stop.start)) for stop in stops])
    if spot is not None:
        row, column = cell(*spot)
        grid[row][column] = "@"
    scale = show.distance(per_column * 10, units)
    drawn = ["|" + "".join(row).rstrip() for row in grid]
    if stops:
        caption = _("10 signs across are {length}; numbers as below.", length=scale)
        caption += " " + _("@: where water was seen.") if spot is not None else ""
        return [*drawn, wrapped(caption), ""]
    return [*drawn, wrapped(_("10 signs across are {length}; shapes as below.", length=scale)), ""]


def _number(grid: list[list[str]], stops: Sequence[tuple[str, int, int]]) -> None:
    """Put numbers where they belong, the first first; one that has no room is left out."""
    taken: set[tuple[int, int]] = set()
    for label, row, column in stops:
        for at in (column, column - len(label) + 1, column + 2, column - len(label) - 1):
            cells = {(row, at + n) for n in range(-1, len(label) + 1)}
            if 0 <= at <= len(grid[row]) - len(label) and not cells & taken:
                grid[row][at : at + len(label)] = label
                taken |= {(row, at + n) for n in range(len(label))}
                break


def _points(seam: PlacedSeam, step: float) -> list[tuple[float, float]]:
    (x0, y0), (x1, y1) = seam.start, seam.end
    count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / step))
    return [(x0 + (x1 - x0) * n / count, y0 + (y1 - y0) * n / count) for n in range(count + 1)]


def layout(laid: RoofLayout, speed: float | None, units: str) -> Iterator[str]:
    """A layout in words."""
    yield _(
        "{rows}, {rolls}, {laps} of lap to weld by machine, {details} of details by hand.",
        rows=plural("{n} row of sheet", "{n} rows of sheet", len(laid.rows)),
        rolls=plural("{n} roll", "{n} rolls", laid.rolls),
        laps=show.distance(laid.lap_m, units),
        details=show.distance(laid.detail_m, units),
    )
    if speed:
        yield _(
            "At {speed}: {hours:.1f} hours of travel alone, without set-up, stops or hand work.",
            speed=show.speed(speed, units),
            hours=weld_hours(laid.lap_m, speed),
        )
    yield from [f"- {_lap(lap, units)}" for lap in laid.laps]
    if laid.t_joints:
        yield _("T-joints: {names}", names=show.listed([j.name for j in laid.t_joints]))
    yield from [_("LOOK: {what}", what=_flag(flag, units)) for flag in laid.flags]


def layout_document(laid: RoofLayout, speed: float | None) -> JsonObject:
    """A layout as JSON, in metres."""
    from msgspec import structs

    return {
        **structs.asdict(laid),
        "rows": [structs.asdict(r) for r in laid.rows],
        "laps": [structs.asdict(lap) for lap in laid.laps],
        "t_joints": [structs.asdict(j) for j in laid.t_joints],
        "flags": [structs.asdict(f) for f in laid.flags],
        "weld_hours": weld_hours(laid.lap_m, speed) if speed else None,
    }


def _lap(lap: LapToWeld, units: str) -> str:
    length = show.tape(lap.length_m, units) if lap.length_m is not None else _("length not given")
    from_, to = (
        f"({show.tape(p[0], units)}, {show.tape(p[1], units)})" for p in (lap.start, lap.end)
    )
    return _(
        "{name}: {kind}, {length}, {start} to {end}",
        name=show.safe(lap.name),
        kind=_(lap.kind),
        length=length,
        start=from_,
        end=to,
    )


def _flag(flag: Flag, units: str) -> str:
    v = flag.values
    if flag.code == "stagger_too_long":
        return _(
            "with rolls this long a stagger of {stagger} leaves the end laps of neighbouring rows in one line",
            stagger=show.tape(flag.number("stagger_m"), units),
        )
    if flag.code == "near_below":
        return plural(
            "{n} lap lies nearer to a lap of the ply below than the limit: {lap} is {apart} from {below}, least {least}",
            "{n} laps lie nearer to laps of the ply below than the limit: {lap} is {apart} from {below}, least {least}",
            int(flag.number("n")),
            lap=show.safe(v["lap"]),
            below=show.safe(v["below"]),
            apart=show.tape(flag.number("apart_m"), units),
            least=show.tape(flag.number("least_m"), units),
        )
    if flag.code == "against_water":
        return _(
            "on {area} water runs to {slope}, against the laps; leave out --along and --start to lay them with it",
            area=show.safe(v["area"]),
            slope=v["slope"],
        )
    if flag.code == "surface_not_said":
        return _(
            "nobody said what the sheet's face is: end laps are listed as over sand; over granules or film: --surface granules"
        )
    if "x_m" not in v:
        return _row_flag(flag, units)
    return _(
        "{kind} at {x}, {y} lies outside the roof",
        kind=show.safe(_(str(v["kind"]))),
        x=show.tape(flag.number("x_m"), units),
        y=show.tape(flag.number("y_m"), units),
    )


_ROW_CUT = {
    "first_row_cut": mark(
        "row {row} is cut to {width}, as wide as the last, so that no lap lies close to the edge"
    ),
    "first_row_step": mark(
        "row {row} is cut to {width}, so that no row is narrow at a step of the outline"
    ),
    "narrow_at_step": mark(
        "row {row} is only {width} wide at a step of the outline: no first row leaves half a roll at every edge"
    ),
    "first_row_offset": mark(
        "row {row} is cut to {width}, so that its laps keep off those of the ply below and from the edge"
    ),
    "narrow_row": mark(
        "row {row} is only {width} wide, so that the laps of this ply keep off those below"
    ),
}


def _row_flag(flag: Flag, units: str) -> str:
    """What a person should look at in a row, or in two beside one another."""
    v = flag.values
    if flag.code == "end_laps_near":
        return _(
            "end laps {lap} and {other} lie only {apart} apart in neighbouring rows: no cut keeps the stagger there",
            lap=show.safe(v["lap"]),
            other=show.safe(v["other"]),
            apart=show.tape(flag.number("apart_m"), units),
        )
    if flag.code == "short_piece":
        return _(
            "row {row} has a piece of {length}: no cut leaves none so short with this stagger",
            row=show.safe(v["row"]),
            length=show.tape(flag.number("length_m"), units),
        )
    row, width = show.safe(v["row"]), show.limit_width(flag.number("width_m") * 1000, units)
    return _(_ROW_CUT[flag.code], row=row, width=width)
