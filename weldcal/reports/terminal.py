"""Tables on the terminal, by rich: lists of strips, the roof.

Invariant: no colour and no boxes into a pipe; a narrow screen gets one short
paragraph a row instead of a table that breaks, a screen reader a sentence a row;
nothing is shown by colour alone.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from functools import cache, partial

from rich.console import Console
from rich.table import Table
from rich.text import Text

from weldcal import settings
from weldcal.quality.coverage import Stretch, minus
from weldcal.quality.seam import (
    IN_PART,
    IN_WORK,
    MENDED,
    NOT_STARTED,
    OPEN,
    PROBED,
    STATES,
    UNPROBED,
)
from weldcal.records.examples import example
from weldcal.reports import linear, shortfalls, show
from weldcal.reports.lines import on_screen as _on_screen
from weldcal.views.rows import JudgedStrip, OpenWarning
from weldcal.views.seam import SeamSeen
from weldcal.words import _, plural

NARROW = 60

# Our own shapes, distinct without colour: from nothing done to done.
SHAPES = {
    NOT_STARTED: ".",
    IN_WORK: ">",
    UNPROBED: "?",
    IN_PART: "%",
    OPEN: "X",
    MENDED: "o",
    PROBED: "=",
}


def console(*, stderr: bool = False) -> Console:
    """The console; plain where it is no terminal or no colour is wanted."""
    plain = not (sys.stderr if stderr else sys.stdout).isatty()
    colourless = plain or settings.colourless()
    return Console(
        highlight=False,
        markup=False,
        emoji=False,
        no_color=colourless,
        soft_wrap=plain,
        stderr=stderr,
        width=settings.screen_columns(),
        color_system=None if plain else "auto",
    )


# Beside the shapes, never instead of them; the colour-blind can tell them by brightness.
_STYLES = {
    OPEN: "bold red",
    MENDED: "yellow",
    UNPROBED: "bold yellow",
    IN_PART: "cyan",
    IN_WORK: "magenta",
    NOT_STARTED: "dim",
    PROBED: "bold blue",
}
# In bright light: the terminal's own two colours; what needs a person stands out.
_CONTRAST = {OPEN: "bold reverse", UNPROBED: "bold", IN_PART: "bold", MENDED: "bold"}


def drawing(lines: list[str]) -> None:
    """Print a drawing, its shapes coloured where the terminal has colour; read out, it is no drawing."""
    if settings.linear():
        return
    chosen = _CONTRAST if settings.screen() == "high-contrast" else _STYLES
    styles = {SHAPES[state]: style for state, style in chosen.items()}
    screen = console()
    for line in map(show.safe_lines, lines):
        text = Text(line)
        if line.startswith("|"):
            for at, sign in enumerate(line):
                if sign in styles:
                    text.stylize(styles[sign], at, at + 1)
        screen.print(text, soft_wrap=True)


def table(headings: list[str], rows: list[list[str]]) -> None:
    """Print rows under headings; tabs into a pipe, a sentence a row where columns do not fit."""
    rows = [[show.safe_lines(cell) for cell in row] for row in rows]
    if not sys.stdout.isatty():
        for row in [headings, *rows]:
            print("\t".join(row))
        return
    if settings.linear() or settings.screen_columns() < NARROW:
        for row in rows:
            _say(f"- {linear.row(headings, row)}")
        return
    drawn = Table(box=None, pad_edge=False, header_style="bold")
    for heading in headings:
        drawn.add_column(Text(heading), overflow="fold")
    for row in rows:
        drawn.add_row(*(Text(cell) for cell in row))
    console().print(drawn)


WIDE = 120


def strips(rows: list[JudgedStrip], units: str) -> None:
    """List strips with what each came to."""
    if not rows:
        _say(_("No strip yet. Type: weldcal strip record"))
        return
    if settings.linear() or (sys.stdout.isatty() and settings.screen_columns() < WIDE):
        for row in rows:
            cells = _strip_cells(row, units)
            _say(linear.strip(cells) if settings.linear() else _strip_line(cells))
        return
    headings = [
        _("Strip"),
        _("Seen"),
        _("Machine"),
        _("Sheet"),
        _("Nozzle"),
        _("Speed"),
        _("Sheet at"),
        _("Bleed-out"),
        _("Bubbling"),
        _("Pull"),
        _("Came to"),
        _("Marks"),
    ]
    table(headings, [list(_strip_cells(row, units).values()) for row in rows])


def _strip_line(cells: dict[str, str]) -> str:
    """A strip as a short paragraph."""
    text = _(
        "{name} {seen} {machine}, {sheet}: {nozzle}, {speed}, sheet {at}; bleed-out {bleed}, bubbling {bubbling}, pull {bond}; {verdict}",
        **cells,
    )
    return f"- {text}" + (f" [{cells['marks']}]" if cells["marks"] else "")


def _strip_cells(row: JudgedStrip, units: str) -> dict[str, str]:
    short = shortfalls.listed(row["shortfalls"], units)
    sheet = row["sheet_c"] if row["sheet_c"] is not None else row["ambient_c"]
    return {
        "name": row["name"],
        "seen": show.clock(row["seen_local"]),
        "machine": show.safe(row["machine"]),
        "sheet": show.safe(row["sheet"]),
        "nozzle": show.temperature(row["nozzle_c"], units),
        "speed": show.speed_made(row, units),
        "at": show.temperature(sheet, units),
        "bleed": show.safe(" ".join(row["readings"])),
        "bubbling": _(row["bubbling"] or "–"),
        "bond": _(row["bond"]),
        "verdict": "; ".join(short) or _("go-ahead"),
        "marks": ", ".join(_(m) for m in row["marks"]),
    }


def _say(text: str) -> None:
    print(_on_screen(text))


def roof(seams: Sequence[SeamSeen], warnings: Sequence[OpenWarning], units: str) -> None:
    """Every seam and its state, then what needs a person next."""
    if not seams:
        _say(
            _(
                "No seam yet. Type: weldcal seam add A1-A6 --length {length}",
                length=example("length", units),
            )
        )
        return
    # A roof's seams have few lengths and places between them.
    tape = cache(partial(show.tape, units=units))
    where = cache(partial(show.stretches, units=units))
    rows = [_roof_cells(seam, tape, where) for seam in seams]
    if settings.linear():
        for line in linear.roof(seams, units):
            _say(line)
    elif sys.stdout.isatty() and settings.screen_columns() < NARROW:
        for shape, name, state, length, welded, todo, flags in rows:
            text = _(
                "{name}: {state}; {welded} of {length}",
                name=name,
                state=state,
                welded=welded,
                length=length,
            )
            _say(
                f"{shape} {text}" + (f"; {todo}" if todo else "") + (f" [{flags}]" if flags else "")
            )
    else:
        headings = ["", _("Seam"), _("State"), _("Length"), _("Welded"), _("To do"), _("Flags")]
        table(headings, rows)
    _roof_total(seams, units)
    for warning in warnings:
        _say(_open_warning(warning))


def _open_warning(warning: OpenWarning) -> str:
    values = {"run": warning["run"], "what": shortfalls.warning(warning["code"])}
    where = show.safe(warning["seam"])
    if warning["area"]:
        return _(
            'Open warning: {run} over area {area}, {what}. When done: weldcal settle {run} "..."',
            area=where,
            **values,
        )
    return _(
        'Open warning: {run} on seam {seam}, {what}. When done: weldcal settle {run} "..."',
        seam=where,
        **values,
    )


def _roof_cells(
    seam: SeamSeen,
    tape: Callable[[float | None], str],
    where: Callable[[tuple[Stretch, ...]], str],
) -> list[str]:
    """The cells of a seam's row, with what says a length and what says stretches."""
    state = seam["state"]
    todo = []
    if state.open:
        todo.append(_("open: {names}", names=", ".join(state.open)))
    if state.mended:
        todo.append(
            _(
                "probe again: {names}",
                names=", ".join(f"{one.finding} {where(one.stretches)}" for one in state.again),
            )
        )
    if state.unprobed:
        reach = minus(state.unprobed, seam["hidden"])
        hidden = minus(state.unprobed, reach)
        if hidden:
            todo.append(_("hidden unprobed {where}: open up", where=where(tuple(hidden))))
        if reach:
            todo.append(_("unprobed {where}", where=where(tuple(reach))))
    length = seam["seam"]["length_m"] if seam["seam"] else None
    return [
        SHAPES[state.state],
        show.safe(seam["name"]),
        _(state.state),
        tape(length),
        tape(state.welded_m),
        "; ".join(todo),
        ", ".join(_(f) for f in seam["flags"]),
    ]


def _roof_total(seams: Sequence[SeamSeen], units: str) -> None:
    welded = sum(s["state"].welded_m for s in seams)
    probed = sum(s["state"].probed_m for s in seams)
    open_ = sum(len(s["state"].open) for s in seams)
    part = f"{100 * probed / welded:.0f} %" if welded else "–"
    _say(
        _(
            "{seams}: {welded} welded, {part} of it probed, {findings}.",
            seams=plural("{n} seam", "{n} seams", len(seams)),
            welded=show.distance(welded, units),
            part=part,
            findings=plural("{n} open finding", "{n} open findings", open_),
        )
    )
    counts = {state: sum(s["state"].state == state for s in seams) for state in STATES}
    for line in legend(counts):
        _say(line)


def legend(counts: dict[str, int]) -> list[str]:
    """How many seams are in each state, with its shape; read out, without."""
    if settings.linear():
        return [_("{state}: {n}", state=_(state), n=n) for state, n in counts.items() if n]
    line = "  ".join(f"{SHAPES[state]} {_(state)} {n}" for state, n in counts.items() if n)
    return [line] if line else []
