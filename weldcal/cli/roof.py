"""The roof: drawn, laid out, and what needs a person next."""

from __future__ import annotations

from typing import Any

import typer

from weldcal.cli import parse
from weldcal.cli.parse import BY, JSON
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, book_of, print_all, say
from weldcal.cli.shell import group as group_of
from weldcal.errors import Missing
from weldcal.records.fields import choose, read
from weldcal.reports import show
from weldcal.words import _, plural

roof = group_of(
    _(
        "Show every seam and its state, drawn where it lies, and what needs a person next. Example: weldcal roof"
    ),
    alone=True,
)


@roof.callback()
def roof_(ctx: typer.Context, as_json: bool = JSON) -> None:
    """Show every seam and its state, drawn where it lies, and what needs a person next. Example: weldcal roof"""
    if ctx.invoked_subcommand is not None:
        return
    book = book_of(ctx)
    with book.snapshot(), progress(quiet=as_json) as beat:
        wrong = book.faults_at_a_glance(beat)
        seams, warnings = book.roof(), book.warnings()
    if as_json:
        from weldcal.reports import trace as page

        found = [page.seam_document(one) for one in seams]
        print(show.as_json({"seams": found, "warnings": warnings, "faults": len(wrong)}))
        return
    from weldcal.reports import faults, plan, terminal

    if wrong:
        print_all(
            [_("NOT PROVED: the record does not hold."), *faults.in_short(wrong, _("the record"))]
        )

    terminal.drawing(plan.page(seams, book.job.units))
    terminal.roof(seams, warnings, book.job.units)


@roof.command("lay", cls=Command)
def roof_lay(
    ctx: typer.Context,
    area: str = typer.Argument(
        ...,
        help=_(
            'Letter and size, like "A 60ft x 40ft"; several rectangles: "A 60ft x 40ft at 0,0; A 20ft x 10ft at 60ft,0".'
        ),
    ),
    roll_width: str = typer.Option(
        None, "--roll-width", help=_("Like 39.4in; the sheet's if not given.")
    ),
    roll_length: str = typer.Option(
        None, "--roll-length", help=_("Like 33ft; the sheet's if not given.")
    ),
    side_lap: str = typer.Option("75mm", "--side-lap", help=_("UFGS-07550: at least 75 mm.")),
    end_lap: str = typer.Option("150mm", "--end-lap", help=_("UFGS-07550: at least 150 mm.")),
    stagger: str = typer.Option("1m", "--stagger", help=_("Of end laps in neighbouring rows.")),
    along: str = typer.Option("x", "--along", help=_("Rows run along x (the first size) or y.")),
    start: str = typer.Option("low", "--start", help=_("Edge of row 1: low or high.")),
    mark: list[str] = typer.Option(
        [],
        "--mark",
        help=_(
            'A drain, curb, penetration or corner: "drain at 12ft,8ft", "curb at 30ft,20ft around 14ft".'
        ),
    ),
    sheet: str = typer.Option(None, "--sheet", help=_("Sheet; the only one listed if not given.")),
    speed: str = typer.Option(
        None, "--speed", help=_("For weld hours, like 5.5; the last go-ahead's if not given.")
    ),
    look: bool = typer.Option(False, "--look", help=_("Only show; list nothing.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Make the seam list from the area: rows, side laps, end laps, T-joints, details. Existing seams are never renumbered.

    Example: weldcal roof lay "A 60ft x 40ft" --roll-width 39.4in --roll-length 33ft --mark "drain at 30ft,20ft"
    """
    from weldcal.cli import plan_words

    book = book_of(ctx)
    units = book.job.units
    rolls = book.rolls(
        book.listed("sheets", sheet, _("sheet"))[0],
        width=parse.value("roll_width", roll_width, units),
        length=parse.value("length", roll_length, units),
        side_lap=read("side_lap", side_lap, units),
        end_lap=read("end_lap", end_lap, units),
    )
    if rolls is None:
        raise Missing(
            name=_("the roll's size"),
            option="--roll-width",
            example="--roll-width 39.4in --roll-length 33ft",
        )
    pace = read("speed", speed, units).si("m/min") if speed else book.last_speed()
    laid = book.lay(
        plan_words.areas(area, units),
        rolls,
        along=choose("axis", along),
        start=choose("edge", start),
        stagger=read("stagger", stagger, units),
        marks=[plan_words.mark(one, units) for one in mark],
        record=not look,
        by=by,
    )
    _show_laid(laid, pace, units, listed=not look, as_json=as_json)


def _show_laid(laid: Any, pace: float | None, units: str, *, listed: bool, as_json: bool) -> None:
    from weldcal.reports import plan

    if as_json:
        print(show.as_json(plan.layout_document(laid, pace)))
        return
    print_all(plan.layout(laid, pace, units))
    if listed:
        say(plural("{n} seam listed.", "{n} seams listed.", len(laid.laps) + len(laid.t_joints)))


APPS = {"roof": roof}
