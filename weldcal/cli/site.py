"""The site: hot work, power at the machine, cover-up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec import Struct, structs

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import JSON, argument, flag, option
from weldcal.cli.shell import Command, answer, group, print_all, print_json, say, single
from weldcal.errors import Misplaced, Missing
from weldcal.quality.coverage import ordered
from weldcal.records.fields import choose, plain_name, read, stretch
from weldcal.records.site import HotWork, HotWorkEnd, OpenUp, Watch
from weldcal.reports import show
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.covering import Bounds

hotwork = group(_("Hot work: permit, watch, who stood it."))
_WORK = argument(
    _("Which hot work, like H1; the latest if not given."), complete.names("hot_work"), default=None
)


@hotwork.command("start", cls=Command)
def hotwork_start(
    book: Book,
    permit: str = option("--permit", _("Number of the permit.")),
    extinguisher: str = option("--extinguisher", _("Which, and where it stands.")),
    deck: str = option("--deck", _("What the deck is made of.")),
    watch: str = option(
        "--watch",
        _("How long the permit or local code wants a watch afterwards, like 60min or 2h."),
    ),
    watch_source: str = option("--watch-source", _("Which permit or code says so.")),
    facers: str = option("--facers", _("What the insulation's facers are made of.")),
    cavities: str = option("--cavities", _("Walls and cavities near by.")),
    primer_wet: str = option("--primer-wet", _("Primer still wet: yes or no.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record hot work begun. The watch is what the permit or local code says; there is no default.

    Example: weldcal hotwork start --permit 4711 --extinguisher "2-A:20-B:C at the machine"
    --deck steel --watch 60min --watch-source "permit 4711"
    """
    for value, name, example in (
        (permit, _("permit number"), "--permit 4711"),
        (extinguisher, _("extinguisher"), '--extinguisher "2-A at the machine"'),
        (deck, _("deck"), "--deck steel"),
        (watch, _("watch"), "--watch 60min"),
        (watch_source, _("source of the watch"), '--watch-source "permit 4711"'),
    ):
        if not value:
            raise Missing(name=name, option=example.split()[0], example=example)
    work = HotWork(
        name="",
        seen=seeing.read(book),
        permit=permit,
        extinguisher=extinguisher,
        deck=deck,
        facers=facers,
        cavities=cavities,
        primer_wet=choose("yes_no", primer_wet) == "yes" if primer_wet else None,
        watch=read("minutes", watch, book.job.units),
        watch_source=watch_source,
        note=note,
    )
    answer(book, seeing.as_json, _("Hot work"), book.recording.site.start_hot_work(work))


@hotwork.command("end", cls=Command)
def hotwork_end(book: Book, name: str = _WORK, seeing: parse.SeenTyped = parse.SEEN_BY) -> None:
    """Record hot work ended; the watch begins. Example: weldcal hotwork end"""
    recorded = book.recording.site.hot_work_stage(name, HotWorkEnd(seen=seeing.read(book)))
    answer(book, seeing.as_json, _("End of hot work"), recorded)


@hotwork.command("watch", cls=Command)
def hotwork_watch(
    book: Book,
    name: str = _WORK,
    found: str = option("--found", _("What was seen."), default="nothing"),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record the watch stood until now, and by whom. Example: weldcal hotwork watch --by "Ben Okoro" """
    record = Watch(seen=seeing.read(book), found=found)
    recorded = book.recording.site.hot_work_stage(name, record)
    answer(book, seeing.as_json, _("Watch over hot work"), recorded)


@hotwork.command("list", cls=Command)
def hotwork_list(book: Book, as_json: bool = JSON) -> None:
    """List hot work: permits, ends, watches and who stood them. Example: weldcal hotwork list"""
    from weldcal.reports import reasoning

    hot_work = book.site.hot_work()
    if as_json:
        print_json([{k: v for k, v in row.items() if k != "watch_notes"} for row in hot_work])
        return
    print_all(reasoning.hot_work(hot_work, book.job.units))


class BoundsTyped(Struct, frozen=True):
    """How far a cover-up reaches, as typed."""

    along: str | None
    x: str | None
    y: str | None

    def read(self, book: Book) -> Bounds:
        """How far it reaches.

        Raises:
            Misplaced: more than one of them was typed.
        """
        from weldcal.book.covering import Bounds

        given = [(axis, text) for axis, text in structs.asdict(self).items() if text]
        if len(given) > 1:
            raise Misplaced(text=given[1][1], why=_("give one of --stretch, --x and --y"))
        if not given:
            return Bounds()
        axis, text = given[0]
        start, end = stretch(text, book.job.units)
        band = ordered(start.si("m"), end.si("m"))
        return Bounds(along=band) if axis == "along" else Bounds(axis=axis, band=band)


AREA = argument(
    _("The area, the start of its seams' names, or seams like A1-A4."), complete.names("areas")
)
BOUNDS: Any = parse.Pack(
    BoundsTyped,
    {
        "along": option("--stretch", _("Only so far along each side lap, like 0-30.")),
        "x": option("--x", _("Only between two lines of the plan, like 0-20ft.")),
        "y": option("--y", _("The same along y.")),
    },
)


@single
def cover(
    book: Book,
    area: str = AREA,
    within: BoundsTyped = BOUNDS,
    look: bool = flag("--look", _("Only list what is not yet probed clean; record nothing.")),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Before the next ply hides an area or part of it: list every seam not probed clean, then record the cover-up.

    Example: weldcal cover A1-A4 --stretch 0-30 --look
    """
    bounds = within.read(book)
    if look and bounds.all:
        _not_clean(book, area, seeing.as_json)
        return
    if look:
        _release(book, area, bounds, seeing.as_json)
        return
    recorded = book.recording.covering.cover(area, seeing.read(book), bounds)
    answer(book, seeing.as_json, _("Cover-up"), recorded)


def _not_clean(book: Book, area: str, as_json: bool) -> None:
    """The seams of an area that are not yet probed clean."""
    from weldcal.quality.seam import PROBED
    from weldcal.reports import terminal
    from weldcal.reports import trace as page

    seams = [s for s in book.covering.cover_list(area) if s["state"].state != PROBED]
    if as_json:
        print_json([page.seam_document(seam) for seam in seams])
    elif seams:
        terminal.roof(seams, [], book.job.units)
    else:
        say(_("Every seam of {area} is probed with no open finding.", area=show.safe(area)))


def _release(book: Book, area: str, bounds: Bounds, as_json: bool) -> None:
    """What must be done before part of an area is hidden."""

    from weldcal.reports import release

    first = book.covering.cover_first(book.covering.cover_pieces(area, bounds))
    if as_json:
        print_json(first)
    else:
        print_all(release.lines(area, first, book.job.units))


@single
def open_up(
    book: Book,
    seam: str = parse.SEAM,
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record a covered seam opened up; it can be probed again until it is covered anew. Example: weldcal open-up A12"""
    record = OpenUp(name="", seam=plain_name(_("seam"), seam), seen=seeing.read(book), note=note)
    answer(book, seeing.as_json, _("Opening"), book.recording.site.open_up(record))
