"""The inspector: probe walks, findings, mends, peel samples."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import BY, JSON, PHOTO, argument, option, several
from weldcal.cli.shell import WALK, Command, WalkGroup, answer, group, say, settled, single
from weldcal.errors import Missing, Unreadable
from weldcal.quantities import Quantity, is_feet_inches
from weldcal.records.common import Seen
from weldcal.records.examples import example
from weldcal.records.fields import choose, past, plain_name, read, read_place, stretch
from weldcal.records.seam import Finding, Mend, Peel, Walk
from weldcal.records.times import read_beside, stamp
from weldcal.settings import path_of
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.intake.kept import WalkProposed

probe = group(
    _("Probe walks: walked, or loaded from a typed-up sheet; a seam at once is a walk."),
    cls=WalkGroup,
)


@probe.command(WALK, cls=Command)
def probe_walk(
    book: Book,
    name: str = parse.SEAM,
    words: list[str] = argument(
        _(
            "From where to where, like 0-33 or 14-end; or in words: sound to end, void 14.5 3in x 1/2in. The whole seam if not given."
        ),
        default=None,
    ),
    void: list[str] = several(
        "--void", _("An open lap found: where, how long, how deep: 14.5+3in x 1in.")
    ),
    started: str = option("--started", _("When the walk began, like 13:10.")),
    yes: bool = parse.YES,
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a probe walk along a cold lap, and what it found; in words, it is shown before it counts.

    In words, after the seam: sound to 33, void 14.5 3in x 1/2in. The word walk may be left out.

    Example: weldcal probe walk A12 0-33 --void "14.5+3in x 1/2in"
    """
    seen = seeing.read(book)
    seam = plain_name(_("seam"), name)
    words = words or []
    plain = _plain_stretch(words, book.job.units)
    begun = _begun(started, seen, book.job.zone)
    findings = [_void(text, seam, seen, book.job.units) for text in void]
    if plain:
        walk = Walk(
            name="",
            seam=seam,
            seen=seen,
            start=plain[0],
            end=plain[1],
            started=begun,
            ended=seen.at,
            note=note,
        )
    else:
        kept = _in_words(book, seam, words, seen, begun, yes=yes, quiet=seeing.as_json)
        findings = [*kept.found, *findings]
        walk = replace(kept.walk, note=note or kept.walk.note)
    recorded = book.recording.probing.record_walk(walk, findings)
    answer(book, seeing.as_json, _("Probe walk"), recorded)
    if not seeing.as_json:
        names = recorded.values["findings"]
        say(_("Findings: {names}.", names=", ".join(names)) if names else _("Nothing found."))


@probe.command("load", cls=Command)
def probe_load(
    book: Book,
    file: str = argument(
        _("An XLSX or CSV file: a probe sheet typed up, one walk or finding a row.")
    ),
    keep_good: bool = parse.KEEP_GOOD,
    day_first: bool = parse.DAY_FIRST,
    by: str = BY,
    yes: bool = parse.YES,
    as_json: bool = JSON,
) -> None:
    """Load walks from a probe sheet typed up as XLSX or CSV: shown first, kept after yes. All rows, or none unless --keep-good; loaded again, nothing is recorded twice.

    Example: weldcal probe load probes.csv --by "Ben Okoro"
    """
    from weldcal.cli.loading import load
    from weldcal.cli.progress import progress

    with progress(quiet=as_json) as on_progress:
        staged = book.recording.walk_sheets.read(
            path_of(file), keep_good=keep_good, day_first=day_first, by=by, on_progress=on_progress
        )
    with staged:
        loaded = load(
            book, lambda into: into.recording.walk_sheets, staged, yes=yes, as_json=as_json
        )
    if as_json:
        return
    say(
        _(
            "Walks: {walks} recorded, {known} here already. Findings: {found} recorded. Rows refused: {bad}.",
            walks=loaded.recorded,
            known=loaded.known,
            found=loaded.findings,
            bad=loaded.refused,
        )
    )


def _plain_stretch(words: Sequence[str], units: str) -> tuple[Quantity, Quantity] | None:
    """`0-33`, a stretch and nothing else; None where it is words."""
    if len(words) != 1 or not isinstance(words[0], str):
        return None
    try:
        return stretch(words[0], units)
    except Unreadable:
        return None


def _in_words(
    book: Book,
    seam: str,
    words: Sequence[str],
    seen: Seen,
    begun: str | None,
    *,
    yes: bool,
    quiet: bool,
) -> WalkProposed:
    """A walk read from words, once somebody has said that it is right."""
    from weldcal.intake.probe_line import ProbeLine, read_probe
    from weldcal.reports import proposed

    units = book.job.units

    def proposal(typed: Sequence[str | ProbeLine]) -> WalkProposed:
        line = next((one for one in typed if isinstance(one, ProbeLine)), None)  # read already
        line = line or read_probe([str(word) for word in typed], units)
        walk_read = book.quick.propose_walk(seam, line, seen)
        # What an option says is shown with the rest, before anybody says yes to it.
        return replace(
            walk_read, walk=replace(walk_read.walk, started=begun or walk_read.walk.started)
        )

    def read_again(_shown: WalkProposed, typed: str) -> WalkProposed:
        return proposal([typed])

    first = proposal(words)
    return settled(
        first, lambda shown: proposed.walk(shown, units), read_again, yes=yes, quiet=quiet
    )


def _begun(started: str | None, seen: Seen, zone: str) -> str | None:
    if not started:
        return None
    return stamp(read_beside(started, seen.at, zone, _("time")))


@single
def finding(
    book: Book,
    name: str = parse.SEAM,
    kind: str = argument(
        _("void, cold, fishmouth, scorched, wrinkle, blister, other."), complete.words("flaw")
    ),
    place: str = argument(_("From where to where, like 3-4; a single distance for a point.")),
    how: str = option("--how", _("seen, probed or cut."), default="seen"),
    depth: str = option("--depth", _("How deep, like 1in.")),
    photo: list[str] = PHOTO,
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a finding. Example: weldcal finding A12 scorched 3-4 --how seen"""
    units = book.job.units
    start, end = _place(place, units)
    record = Finding(
        name="",
        seam=plain_name(_("seam"), name),
        seen=seeing.read(book),
        kind=choose("flaw", kind),
        start=start,
        end=end,
        how=choose("how", how),
        depth=parse.value("depth", depth, units),
        note=note,
        photos=book.recording.transactions.photos(photo),
    )
    answer(book, seeing.as_json, _("Finding"), book.recording.probing.record_finding(record))


@single
def mend(
    book: Book,
    name: str = argument(_("The finding, like F3."), complete.FINDINGS),
    method: str = option("--method", _("How it was mended, like re-welded, or patch.")),
    place: str = option(
        "--place", _("From where to where; past the finding by the limits' margin if not given.")
    ),
    tool: str = option("--tool", _("The hand tool.")),
    nozzle: str = parse.NOZZLE,
    patch: str = option("--patch", _("Patch size, like 8in.")),
    photo: list[str] = PHOTO,
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record the mend of a finding; the mended length must be probed again.

    Example: weldcal mend F3 --method patch --patch 8in --tool "hand tool 2"
    """
    units = book.job.units
    if not method:
        raise Missing(name=_("method"), option="--method", example="--method patch")
    start, end, seam = book.probing.mend_stretch(name)
    if place:
        start, end = stretch(place, units)
    record = Mend(
        name="",
        seam=seam,
        finding="",
        seen=seeing.read(book),
        start=start,
        end=end,
        method=method,
        tool=tool,
        patch=parse.value("patch", patch, units),
        nozzle=parse.value("nozzle", nozzle, units),
        note=note,
        photos=book.recording.transactions.photos(photo),
    )
    answer(book, seeing.as_json, _("Mend"), book.recording.probing.record_mend(name, record))


@single
def peel(
    book: Book,
    of: str = argument(_("A seam, or a strip like S3."), complete.names("seams", "strips")),
    place: str = argument(_("Where on the seam, like 12ft."), default=None),
    parted: str = option(
        "--parted", _("in the compound, in the reinforcement, at the lap, not parted.")
    ),
    load: str = option("--load", _("Peel load, like 40lbf.")),
    width: str = option("--width", _("Width of the sample, like 1in.")),
    line_load: str = option("--line-load", _("Load per width, like 22lbf/in or 190N/50mm.")),
    sample_temp: str = option("--sample-temp", _("How warm the sample was, like 73F.")),
    pull_rate: str = option("--pull-rate", _("How fast it was pulled, like 4in/min or 100mm/min.")),
    note: str = parse.NOTE,
    seeing: parse.SeenTyped = parse.SEEN,
) -> None:
    """Record a peel sample. One cut from a seam is an open finding until patched and probed.

    Example: weldcal peel A12 12 --parted compound --load 40lbf --width 1in --sample-temp 73F --pull-rate 4in/min
    """
    units = book.job.units
    if not parted:
        raise Missing(name=_("how it parted"), option="--parted", example="--parted compound")
    seen = seeing.read(book)
    cut, where, strip = None, None, None
    sample = parse.value("sample_width", width, units)
    if place is None:
        strip = book.probing.strip_id(of)
    else:
        where = read_place(place, units)
        cut = _cut(of, seen, where, sample)
    record = Peel(
        name="",
        seen=seen,
        parted=choose("parted", parted),
        seam=plain_name(_("seam"), of) if cut else None,
        at=where,
        strip=strip,
        load=parse.value("load", load, units),
        width=sample,
        line_load=parse.value("line_load", line_load, units),
        note=note,
        sample_temp=parse.value("sample_temp", sample_temp, units),
        pull_rate=parse.value("pull_rate", pull_rate, units),
    )
    done = book.recording.probing.record_peel(record, cut)
    answer(book, seeing.as_json, _("Peel sample"), done)
    if cut is not None and not seeing.as_json:
        say(_("Findings: {names}.", names=", ".join(done.values["findings"])))


def _cut(seam: str, seen: Seen, where: Quantity, sample: Quantity | None) -> Finding:
    """The hole that a sample leaves in a seam: as wide as the sample, a place where that is unsaid."""
    return Finding(
        name="",
        seam=plain_name(_("seam"), seam),
        seen=seen,
        kind="sample cut",
        start=where,
        end=past(where, sample) if sample else where,
        how="cut",
    )


def _void(text: str, seam: str, seen: Seen, units: str) -> Finding:
    """`14.5+3in x 1/2in`: an open lap from 14.5, 3 in long, 1/2 in deep."""
    match = re.fullmatch(
        r"\s*(?P<at>[^+]+?)\s*(?:\+\s*(?P<long>[^x×]+?))?\s*(?:[x×]\s*(?P<deep>.+?))?\s*", text
    )
    if not match:
        raise Missing(
            name=_("where the void lies"), option="--void", example=example("void", units)
        )
    start = read_place(match["at"], units)
    length = read("patch", match["long"], units) if match["long"] else None
    return Finding(
        name="",
        seam=seam,
        seen=seen,
        kind="void",
        start=start,
        end=past(start, length) if length else start,
        how="probed",
        depth=read("depth", match["deep"], units) if match["deep"] else None,
    )


_BETWEEN = r"\d\s*(?:-|to|–)\s*(?:\d|[a-z])|[a-z\"']\s*(?:-|–)\s*(?:\d|[a-z])"


def _place(text: str, units: str) -> tuple[Quantity, Quantity]:
    if not is_feet_inches(text) and re.search(_BETWEEN, text):
        return stretch(text, units)
    point = read_place(text, units)
    return point, point
