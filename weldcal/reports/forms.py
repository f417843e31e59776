"""Sheets of paper for the day the laptop stays in the truck.

Invariant: under each column stands the name that `strip load` and `probe load`
read, with the unit meant, so that a filled sheet can be typed up as it is;
black on white, and nothing needs a colour to be understood.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from weldcal import settings
from weldcal.intake import probe_columns
from weldcal.quantities import tape_typed
from weldcal.records.fields import usual_unit
from weldcal.reports import cautions, show
from weldcal.views.walk import SheetLine
from weldcal.words import _

STRIP_ROWS = 15
PROBE_ROWS = 17


class FormColumn(Struct, frozen=True):
    """A column: what it is, the name a loader reads, and its share of the width."""

    label: str
    name: str
    share: float


class Form(Struct, frozen=True):
    """A sheet as plain data, for typst.

    Attributes:
        facts: what is filled in by hand above the table.
        rows: what is filled in already; `blank` more follow.
        card: lines of a card instead of a table, each as wide as it prints.
    """

    title: str
    subtitle: str
    language: str
    made: str
    facts: tuple[str, ...] = ()
    columns: tuple[FormColumn, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    blank: int = 0
    card: tuple[str, ...] = ()
    how: str = ""
    cautions: tuple[str, ...] = ()


def strip(job: str, units: str, made: str, mark: bool = False) -> Form:
    """A blank strip sheet; `mark`: the machine's dial shows bare marks."""
    speed = "speed" if mark else f"speed ({usual_unit('speed', units)})"
    width, nozzle = usual_unit("reading", units), usual_unit("nozzle", units)
    columns = (
        FormColumn(_("Date"), "date", 1.5),
        FormColumn(_("Time"), "time", 1.1),
        FormColumn(_("Machine"), "machine", 1.4),
        FormColumn(_("Nozzle"), f"nozzle ({nozzle})", 1.2),
        FormColumn(_("Speed on the dial"), speed, 1.3),
        *(FormColumn(_("Bleed-out {n}", n=n), f"bleed {n} ({width})", 1.05) for n in range(1, 5)),
        FormColumn(_("Bubbling: none, trace, heavy"), "bubbling", 1.4),
        FormColumn(_("Cold pull: good, cold"), "bond", 1.2),
        FormColumn(_("Ambient"), f"ambient ({usual_unit('ambient', units)})", 1.2),
        FormColumn(_("Sheet surface"), f"sheet temp ({usual_unit('sheet_temp', units)})", 1.4),
        FormColumn(_("Wind"), f"wind ({usual_unit('wind', units)})", 1.1),
        FormColumn(_("Operator"), "operator", 1.3),
        FormColumn(_("Note"), "note", 2.2),
    )
    return Form(
        title=_("Test strips"),
        subtitle=subtitle(job, units),
        language=settings.language(),
        made=made,
        columns=columns,
        blank=STRIP_ROWS,
        how=_(
            "One strip a row. Pull it when it is cold. Type the rows up under the small names, save as CSV, then: weldcal strip load FILE.csv"
        ),
        cautions=tuple(cautions.short()),
    )


def probe(job: str, units: str, made: str, seams: Sequence[SheetLine]) -> Form:
    """A blank probe sheet; the seams given stand in it with their lengths."""
    labels = {
        "date": _("Date"),
        "seam": _("Seam"),
        "from": _("From"),
        "to": _("To"),
        "start": _("Began"),
        "end": _("Ended"),
        "finding": _("Found"),
        "at": _("Where it begins"),
        "length": _("How long"),
        "depth": _("How deep"),
        "note": _("Note"),
        "by": _("Inspector"),
    }
    shares = {"date": 1.4, "seam": 1.5, "note": 2.4, "finding": 1.4, "by": 1.4, "at": 1.3}
    columns = tuple(
        FormColumn(labels[name], header, shares.get(name, 1.0))
        for name, header in zip(probe_columns.COLUMNS, probe_columns.headers(units), strict=True)
    )
    places = {name: n for n, name in enumerate(probe_columns.COLUMNS)}
    rows = []
    for seam in seams:
        row = [""] * len(columns)
        row[places["seam"]] = show.safe(seam["name"])
        row[places["from"]] = _number(seam["from_m"], units) if seam["from_m"] else "0"
        row[places["to"]] = _number(seam["to_m"], units)
        row[places["note"]] = seam["note"]
        rows.append(tuple(row))
    return Form(
        title=_("Probe walks"),
        subtitle=subtitle(job, units),
        language=settings.language(),
        made=made,
        columns=columns,
        rows=tuple(rows),
        blank=max(PROBE_ROWS - len(rows), 4 if rows else 0),
        how=_(
            "One walk a row, with what it found first; a further finding goes in the next row, its seam left empty. A void is open lap; also fishmouth, scorched, wrinkle, blister, cold, other. Cross out what was not walked. Type the rows up under the small names, save as CSV, then: weldcal probe load FILE.csv"
        ),
        cautions=(cautions.short()[-1],),
    )


def card(job: str, units: str, made: str, lines: list[str]) -> Form:
    """The pocket card, to be cut out."""
    return Form(
        title=_("Pocket card"),
        subtitle=subtitle(job, units),
        language=settings.language(),
        made=made,
        card=tuple(row for line in lines for row in line.split("\n")),
        cautions=tuple(cautions.short()),
    )


def subtitle(job: str, units: str) -> str:
    """The job, and the units meant where none is written."""
    if units == "us":
        return _("Job {job}. Units where none is written: °F, ft/min, in, ft.", job=show.safe(job))
    return _("Job {job}. Units where none is written: °C, m/min, mm, m.", job=show.safe(job))


def _number(length_m: float | None, units: str) -> str:
    if length_m is None:
        return ""
    return tape_typed(length_m, units)
