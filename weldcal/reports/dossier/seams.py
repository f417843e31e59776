"""Seams: one row each; and those with something to show, in full.

Invariant: a seam left to the CSV is counted where it is left.
"""

from __future__ import annotations

from collections.abc import Sequence

from weldcal.reports import show, trace
from weldcal.reports.dossier.document import Block, Bullets, Para, Photos, Section, Table, table
from weldcal.reports.dossier.pictures import Album, of_events
from weldcal.reports.dossier.totals import share
from weldcal.reports.terminal import SHAPES
from weldcal.views.dossier import Dossier, SeamFacts
from weldcal.views.trace import SeamTrace
from weldcal.words import _, plural

_MOST_LINES = 50
# Beyond so many seams a row says its state by its sign and counts instead of naming: a PDF of
# ten thousand rows in full words takes over a gibibyte to set.
_IN_WORDS = 2000


def links(d: Dossier) -> dict[str, str]:
    """The place on the page of each seam, by its key: its history, else its row."""
    anchors = {trace.key: f"history-{n}" for n, trace in enumerate(d.traces, 1)}
    return {s.key: anchors.get(s.key, f"seam-{n}") for n, s in enumerate(d.seams, 1)}


def section(seams: Sequence[SeamFacts], units: str, places: dict[str, str]) -> Section:
    """One row a seam; `places` on the page, as `links` gives them."""
    if not seams:
        return Section(_("Seams"), (Para(_("No seam is listed.")),))
    if len(seams) <= _IN_WORDS:
        return Section(_("Seams"), (_in_words(seams, units, places),))
    note = Para(
        _(
            'The sign before a name tells its state, as in "How to read the drawings". The names of findings stand in the CSV.'
        )
    )
    return Section(
        _("Seams"),
        (
            note,
            *(
                _in_short(
                    _("Seams of {area}", area=area) if area else _("Seams"), part, units, places
                )
                for area, part in _by_area(seams).items()
            ),
        ),
    )


def _by_area(seams: Sequence[SeamFacts]) -> dict[str | None, list[SeamFacts]]:
    """Seams by the area the plan puts them in, in the order listed."""
    by_area: dict[str | None, list[SeamFacts]] = {}
    for seam in seams:
        by_area.setdefault(seam.place[0] if seam.place else None, []).append(seam)
    return by_area


def _in_short(
    caption: str, seams: Sequence[SeamFacts], units: str, places: dict[str, str]
) -> Table:
    cells = [
        (
            f"{SHAPES[s.state.state]} {s.name}",
            f"{show.tape(s.state.welded_m, units)} / {show.tape(s.length_m, units)} / {share(s.state.probed_m, s.state.welded_m)}",
            f"{s.faults} / {len(s.state.open)} / {len(s.state.mended)} / {s.mends} / {s.samples}",
            ", ".join(_(flag) for flag in s.flags[:2]) + show.and_more(len(s.flags) - 2),
        )
        for s in seams
    ]
    headings = [
        _("Seam"),
        _("Welded / length / probed"),
        _("Faults / open / probe again / mends / samples"),
        _("Flags"),
    ]
    return table(caption, headings, cells, (), (1, 1.8, 2.2, 2.6), _rows_of(seams, places))


def _in_words(seams: Sequence[SeamFacts], units: str, places: dict[str, str]) -> Table:
    cells = [
        (
            f"{SHAPES[s.state.state]} {s.name}",
            _kind(s),
            _(s.state.state),
            _(
                "{welded} of {length}",
                welded=show.tape(s.state.welded_m, units),
                length=show.tape(s.length_m, units),
            ),
            _probed(s, units),
            _found(s),
        )
        for s in seams
    ]
    headings = [
        _("Seam"),
        _("Kind, flags"),
        _("State"),
        _("Welded"),
        _("Probed"),
        _("Found, mended, cut"),
    ]
    return table(
        _("Seams"), headings, cells, (), (0.9, 1.5, 1.5, 1.3, 1.5, 1.7), _rows_of(seams, places)
    )


def _rows_of(seams: Sequence[SeamFacts], places: dict[str, str]) -> list[str]:
    """Places of the rows; none where a seam is shown elsewhere."""
    own_places = [places[seam.key] for seam in seams]
    return [place if place.startswith("seam-") else "" for place in own_places]


def _kind(seam: SeamFacts) -> str:
    flags = [_(flag) for flag in seam.flags]
    return ", ".join(
        [
            _(seam.kind) if seam.kind else _("not on the seam list"),
            *(f for f in flags if f != _("not on the seam list")),
        ]
    )


def _probed(seam: SeamFacts, units: str) -> str:
    if seam.state.welded_m == 0 and seam.state.unprobed:  # a T-joint has no length
        return _("not probed")
    percent = share(seam.state.probed_m, seam.state.welded_m)
    if not seam.state.unprobed:
        return percent
    return _(
        "{share}; unprobed {where}",
        share=percent,
        where=show.stretches(seam.state.unprobed[:4], units)
        + show.and_more(len(seam.state.unprobed) - 4),
    )


def _found(seam: SeamFacts) -> str:
    parts = [plural("{n} fault", "{n} faults", seam.faults)] if seam.faults else []
    if seam.state.open:
        parts.append(
            _(
                "open: {names}",
                names=", ".join(seam.state.open[:4]) + show.and_more(len(seam.state.open) - 4),
            )
        )
    if seam.state.mended:
        parts.append(
            _(
                "probe again: {names}",
                names=", ".join(seam.state.mended[:4]) + show.and_more(len(seam.state.mended) - 4),
            )
        )
    if seam.mends:
        parts.append(plural("{n} mend", "{n} mends", seam.mends))
    if seam.samples:
        parts.append(plural("{n} sample", "{n} samples", seam.samples))
    return ", ".join(parts) or "–"


def traced(d: Dossier, units: str, album: Album | None = None) -> Section:
    """A page for each seam with a finding, a correction, a warning, an item or something taken back."""
    lead: list[Block] = [
        Para(
            _(
                "Each seam that has a finding, a correction, a conflict, a warning, an item of a visit, a leak or something taken back, with all that is recorded of it in the order it was seen."
            )
        )
        if d.traces
        else Para(
            _(
                "No seam has a finding, a correction, a conflict, a warning, an item of a visit, a leak or something taken back."
            )
        )
    ]
    if d.untraced:
        lead.append(
            Para(
                _(
                    "{n} seams have pages here, the most urgent first; {left} more that have something to tell are left to the row in the table of seams and to the CSV of findings.",
                    n=len(d.traces),
                    left=d.untraced,
                ),
                loud=True,
            )
        )
    return Section(
        _("Seams with something to tell"),
        tuple(lead),
        tuple(_one(t, units, f"history-{n}", album) for n, t in enumerate(d.traces, 1)),
    )


def _one(seam_trace: SeamTrace, units: str, anchor: str, album: Album | None) -> Section:
    history = trace.blocks(seam_trace, units)
    lines = (*history.open, *history.events)
    shown = lines[:_MOST_LINES]
    blocks: list[Block] = []
    if seam_trace.flags:
        blocks.append(
            Para(_("Flags: {flags}.", flags=", ".join(_(flag) for flag in seam_trace.flags)))
        )
    blocks.append(Bullets(shown))
    if len(lines) > _MOST_LINES:
        blocks.append(
            Para(
                _(
                    "{n} more lines: weldcal trace {seam}, and the CSV of findings.",
                    n=len(lines) - _MOST_LINES,
                    seam=seam_trace.name,
                ),
                loud=True,
            )
        )
    photos = of_events(seam_trace.events, album, units) if album else []
    if photos:
        blocks.append(Photos(tuple(photos)))
    title = trace.title(seam_trace, units)
    return Section(title, tuple(blocks), anchor=anchor)
