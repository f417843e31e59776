"""The roof: drawn, laid out, and what needs a person next."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import typer

from weldcal.book import Book
from weldcal.cli import complete, laying, parse
from weldcal.cli.drawing import write_sheet
from weldcal.cli.parse import BY, JSON, argument, flag, option, several
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, answer, book_of, print_all, print_json, say
from weldcal.cli.shell import group as group_of
from weldcal.records.fields import plain_name, read
from weldcal.words import _, plural

if TYPE_CHECKING:
    from weldcal.quality.sheets import RoofLayout

roof = group_of(
    _(
        "Show every seam and its state, drawn where it lies, and what needs a person next. Example: weldcal roof"
    ),
    alone=True,
)


@roof.callback()
def roof_(
    ctx: typer.Context,
    svg: str = option("--svg", _("Also write the roof sheet, to scale, as an SVG file.")),
    as_json: bool = JSON,
) -> None:
    """Show every seam and its state, drawn where it lies, and what needs a person next. Example: weldcal roof"""
    if ctx.invoked_subcommand is not None:
        return
    book = book_of(ctx)
    if svg is not None:
        write_sheet(book, svg, quiet=as_json)
    with book.snapshot(), progress(quiet=as_json) as on_progress:
        wrong = book.sealing.faults_at_a_glance(on_progress)
        seams, warnings, conflicts = book.roof.view(), book.roof.warnings(), book.roof.conflicts()
    if as_json:
        from weldcal.reports import trace as page

        document = {
            "seams": [page.seam_document(seam) for seam in seams],
            "warnings": warnings,
            "conflicts": conflicts,
            "faults": len(wrong),
        }
        print_json(document)
        return
    from weldcal.reports import corrected, faults, plan, terminal

    if wrong:
        print_all(
            [_("NOT PROVED: the record does not hold."), *faults.in_short(wrong, _("the record"))]
        )

    terminal.drawing(plan.page(seams, book.job.units, book.laying.plies()))
    terminal.roof(seams, warnings, book.job.units)
    print_all([corrected.clash(conflict) for conflict in conflicts])


@roof.command("lay", cls=Command)
def roof_lay(
    book: Book,
    area: str = argument(
        _(
            'Letter and size, like "A 60ft x 40ft"; an L or a U of rectangles: "A 60ft x 40ft at 0,0; A 20ft x 10ft at 60ft,0", rows run through where they touch. With --over the letter alone is all of that area.'
        )
    ),
    size: laying.RollsTyped = laying.ROLLS,
    pattern: laying.PatternTyped = laying.PATTERN,
    mark: list[str] = several(
        "--mark",
        _(
            'A drain, curb, penetration or corner: "drain at 12ft,8ft", "curb at 30ft,20ft around 14ft".'
        ),
    ),
    over: str = option(
        "--over",
        _("The area this is laid over as the next ply; its laps keep off those below."),
        complete.names("areas"),
    ),
    sheet: str = option("--sheet", _("Sheet; the only one listed if not given.")),
    speed: str = option(
        "--speed", _("For weld hours, like 5.5; the last go-ahead's if not given.")
    ),
    look: bool = flag("--look", _("Only show; list nothing.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Make the seam list from the area: rows, side laps, end laps, T-joints, details. Existing seams are never renumbered.

    Example: weldcal roof lay "A 60ft x 40ft" --roll-width 39.4in --roll-length 33ft --mark "drain at 30ft,20ft"
    """
    units = book.job.units
    on = book.reader.listed("sheets", sheet, _("sheet"))[0]
    rolls = size.read(book, on, pattern.least_piece)
    pace = read("speed", speed, units).si("m/min") if speed else book.laying.last_speed()
    whole_area = over and re.fullmatch(r"\S+", area.strip())
    layout = book.recording.laying.lay(
        book.laying.over_area(laying.letter(area), over)
        if whole_area
        else laying.areas(area, units),
        rolls,
        marks=[laying.roof_point(one, units) for one in mark],
        record=not look,
        by=by,
        over=over,
        **pattern.read(book, on),
    )
    _show_laid(layout, pace, units, listed=not look, as_json=as_json)


def _show_laid(
    layout: RoofLayout, pace: float | None, units: str, *, listed: bool, as_json: bool
) -> None:
    from weldcal.reports import plan

    if as_json:
        print_json(plan.layout_document(layout, pace))
        return
    print_all(plan.layout(layout, pace, units))
    if listed:
        say(
            plural("{n} seam listed.", "{n} seams listed.", len(layout.laps) + len(layout.t_joints))
        )


@roof.command("embed", cls=Command)
def roof_embed(
    book: Book,
    seams: list[str] = argument(_("End laps, like K1.1 K2.1."), complete.names("seams")),
    how: str = option("--how", _("How: heated, pressed in with a trowel.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record granules embedded where end laps of a cap sheet are welded over them. Example: weldcal roof embed K1.1 --how "heated, pressed in" """
    from weldcal.records.site import Embed

    seen = seeing.read(book)
    records = [Embed(seam=plain_name(_("seam"), seam), seen=seen, how=how) for seam in seams]
    for record in records:
        recorded = book.recording.covering.record_embedding(record)
        answer(book, seeing.as_json, _("Granules embedded at"), recorded)


# North by an axis of the plan, as degrees clockwise from its y.
_AXES = {"y+": "0", "x+": "90", "y-": "180", "x-": "270"}


@roof.command("north", cls=Command)
def roof_north(
    book: Book,
    toward: str = argument(
        _("An axis of the plan, x+, x-, y+ or y-; or degrees clockwise from y, like 30.")
    ),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record where north lies on the plan; the drawings then show it. Example: weldcal roof north y+"""
    from weldcal.records.site import North

    degrees = read("north", _AXES.get(toward.strip().lower(), toward), book.job.units)
    recorded = book.recording.site.record_north(North(seen=seeing.read(book), degrees=degrees))
    answer(book, seeing.as_json, _("North"), recorded)
