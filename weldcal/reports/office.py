"""What came into the office, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from weldcal.reports import show
from weldcal.reports.sentences import entries_counted, photos_counted
from weldcal.views.office import CameIn, Filled, PeopleGroup, Refitted, Refused, Stranger
from weldcal.words import _, plural

_MOST = 12


def came_in(taken: CameIn) -> Iterator[str]:
    """What a folder of packs came to, line by line."""
    yield _(
        "Taken in: {packs}, {entries}, {photos}; here already: {before}. The office holds {jobs}.",
        packs=_packs(len(taken.taken)),
        entries=entries_counted(sum(one.new for one in taken.taken)),
        photos=photos_counted(sum(one.photos for one in taken.taken)),
        before=_packs(taken.before),
        jobs=plural("{n} job", "{n} jobs", taken.jobs),
    )
    for bad in taken.refused:
        yield _("NOT TAKEN IN: {file}: {why}.", file=show.safe(bad.file), why=show.safe(bad.why))
    if taken.others:
        yield _("Left alone, no packs: {files}.", files=show.some(taken.others, 4))
    if not (taken.taken or taken.before or taken.refused or taken.strangers):
        yield _("There is no pack in this folder. A crew makes one: weldcal pack FILE")
    if taken.refused:
        yield _("Ask for packs that are damaged anew, then type it again.")
    for stranger in taken.strangers:
        yield _stranger(stranger)
    if taken.strangers:
        yield _("If they are this firm's: type it again with --newcomers. If not: move them away.")
    yield from _gaps(taken.missing)
    if any(one.forks for one in taken.taken):
        yield _("Some devices have two entries in one place: a fork. Both are kept: weldcal verify")
    yield from _groups(taken.groups)


def _packs(n: int) -> str:
    return plural("{n} pack", "{n} packs", n)


def _stranger(stranger: Stranger) -> str:
    return _(
        "NOT TAKEN IN: {file}: a stranger's. No job, device or person in it is known here ({jobs}; {people}).",
        file=show.safe(stranger.file),
        jobs=show.some([job.name or job.id for job in stranger.jobs], 4) or "–",
        people=show.some(stranger.people, 4) or "–",
    )


def _gaps(missing: Sequence[tuple[str, int, int]]) -> Iterator[str]:
    for device, first, last in missing[:_MOST]:
        yield _(
            "Entries {first} to {last} of device {device} are not here yet: merge the pack that has them.",
            first=first,
            last=last,
            device=device,
        )
    if len(missing) > _MOST:
        yield _("And {n} more gaps.", n=len(missing) - _MOST)


def _groups(groups: Sequence[PeopleGroup]) -> Iterator[str]:
    if len(groups) < 2:
        return
    yield _(
        "These packs fall into {n} groups that share no job, device or person. "
        "If one is another firm's, begin again in an empty office without its packs:",
        n=len(groups),
    )
    for group in groups[:_MOST]:
        yield _(
            "- {jobs}; {people}", jobs=show.some(group.jobs, 4), people=show.some(group.people, 4)
        )
    if len(groups) > _MOST:
        yield _("And {n} more groups.", n=len(groups) - _MOST)


def packs_since(n: int | None) -> tuple[str, ...]:
    """What a page does not have, because packs came after the tables it rests on; None: not known."""
    if n is None:
        return (
            _("PERHAPS NOT ALL: packs may be newer than these tables. Type: weldcal office lake"),
        )
    if not n:
        return ()
    return (
        plural(
            "NOT ALL: {n} pack came in since these tables were written. Type: weldcal office lake",
            "NOT ALL: {n} packs came in since these tables were written. Type: weldcal office lake",
            n,
        ),
    )


def filled(done: Filled, lake: str) -> Iterator[str]:
    """What filling the lake came to."""
    yield _(
        "{lake}: {jobs}; written anew: {written}, as they were: {unchanged}.",
        lake=show.safe(lake),
        jobs=plural("{n} job", "{n} jobs", done.jobs),
        written=done.written,
        unchanged=done.unchanged,
    )
    if done.mended:
        yield plural(
            "{n} job had files that were not whole; they were made anew.",
            "{n} jobs had files that were not whole; they were made anew.",
            done.mended,
        )
    yield from _unread(done.unread)


def _unread(books: Sequence[Refused]) -> Iterator[str]:
    for bad in books:
        yield _(
            "NOT READ: the office's book {file}: {why}. Its jobs' tables are as they were.",
            file=show.safe(bad.file),
            why=show.safe(bad.why),
        )
    if books:
        yield _(
            "Put them back from a backup. Without one: move them and office.sqlite out of the "
            "office's folder, take every pack in again, and type this again."
        )


def refitted(refits: Refitted) -> Iterator[str]:
    """What refitting came to."""
    yield _(
        "{groups}: refitted now: {done}, as they were: {rest}. To see them: weldcal office season",
        groups=plural("{n} machine on a sheet", "{n} pairs of machine and sheet", refits.groups),
        done=refits.done,
        rest=refits.groups - refits.done - len(refits.failed),
    )
    if refits.lost:
        yield plural(
            "{n} worker was lost on the way; what it had in hand was done again by another.",
            "{n} workers were lost on the way; what they had in hand was done again by others.",
            refits.lost,
        )
    yield from [
        _(
            "NOT REFITTED: {group}: every worker that took it up was lost, or has another weldcal.",
            group=show.safe(group),
        )
        for group in refits.failed
    ]
