"""The foreman: the roof, a seam traced, corrections, warnings answered, the record checked."""

from __future__ import annotations

import typer
from msgspec import structs

from weldcal.book import Book
from weldcal.book.keeping import Examined
from weldcal.cli import complete, parse
from weldcal.cli.asked_back import correction_said_again
from weldcal.cli.parse import BY, JSON, argument, flag, option
from weldcal.cli.progress import progress
from weldcal.cli.shell import answer, print_all, print_json, single
from weldcal.errors import Missing, NotAChoice
from weldcal.reports import show
from weldcal.reports.sentences import entries_counted
from weldcal.words import _, plural


@single
def trace(
    book: Book,
    seam: str = parse.SEAM,
    as_json: bool = JSON,
) -> None:
    """Trace one seam: strip, runs, settings, people, findings, mends, corrections. Example: weldcal trace A12"""
    history = book.traces.of_seam(seam)
    from weldcal.reports import trace as page

    if as_json:
        print_json(page.document(history))
        return
    print_all(page.page(history, book.job.units))


@single
def amend(
    book: Book,
    name: str = argument(_("What is corrected, like S3, R2, F1 or a seam."), complete.ANYTHING),
    field: str = argument(_("Which value, like speed, readings, end.")),
    value: str = argument(_("The right value.")),
    why: str = option("--why", _("The reason.")),
    as_typed: bool = parse.AS_TYPED,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Correct a value, with the reason; the old reading stays visible. Example: weldcal amend S3 speed 5.5 --why "misread the dial" """
    if not why:
        raise Missing(name=_("reason"), option="--why", example='--why "misread the dial"')
    value = correction_said_again(book, name, field, value, as_typed=as_typed)
    recorded = book.recording.amending.amend(name, field, value, why, by=seeing.by, at=seeing.at)
    answer(book, seeing.as_json, _("Correction of"), recorded)


@single
def settle(
    book: Book,
    run: str = argument(
        _("The run that was warned, like R4; or a fork, like 5742a9000001/12."),
        complete.names("runs", "covers"),
    ),
    done: str = argument(_("What was done about it.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Record what was done about a warning, or about a fork that verify tells of. Example: weldcal settle R4 "strip S5 run at once, good; lap probed" """
    if "/" in run:
        recorded = book.recording.packing.settle_fork(run, done, by=by)
        answer(book, as_json, _("Answer to the fork of"), recorded)
        return
    recorded = book.recording.amending.settle(run, done, by=by)
    answer(book, as_json, _("Answer to the warning of"), recorded)


@single
def verify(
    book: Book,
    seal: str = option("--seal", _("A seal's code: is the record still what it sealed?")),
    key: str = option(
        "--key", _("With --seal: the public key on the same paper; whose seal must it be?")
    ),
    rebuild: bool = flag("--rebuild", _("Make the tables anew from the entries first.")),
    as_json: bool = JSON,
) -> None:
    """Recompute every hash and derive the tables anew; show every fault. Exit code 1 if any. Example: weldcal verify"""
    if key is not None and seal is None:
        raise Missing(name=_("seal code"), option="--seal", example="--seal CODE")
    with progress(quiet=as_json) as on_progress:
        if rebuild:
            book.recording.backups.rebuild(on_progress)
        examined = book.keeping.examine(seal, on_progress, key=_public(key))
    if as_json:
        document = {
            "entries": examined.entries,
            "faults": [structs.asdict(f) for f in examined.faults],
            "clocks": [structs.asdict(f) for f in examined.clocks],
            "settled": [
                {**structs.asdict(f), "hashes": sorted(f.hashes)} for f in examined.settled
            ],
            "cut": list(examined.cut) if examined.cut else None,
            "seal": examined.sealed,
        }
        print_json(document)
    else:
        print_all(_examined(examined))
    if examined.faults:
        raise typer.Exit(1)


def _public(key: str | None) -> str | None:
    """A public key as typed: 64 hex digits, spaces and case do not count.

    Raises:
        NotAChoice: it is none.
    """
    if key is None:
        return None
    digits = "".join(key.split()).lower()
    if len(digits) != 64 or set(digits) - set("0123456789abcdef"):
        raise NotAChoice(name="--key", text=key, allowed=_("64 signs of 0-9 and a-f"))
    return digits


def _examined(examined: Examined) -> list[str]:
    """What the check of the record came to."""
    from weldcal.reports import faults

    report = [*faults.lines(examined.faults), *_remarks(examined)]
    if examined.sealed:
        from weldcal.reports import seal

        report += seal.report(examined.sealed, whole=not examined.faults)
    if examined.faults:
        counted = plural("{n} fault", "{n} faults", len(examined.faults))
        entries = entries_counted(examined.entries)
        return [*report, _("{faults} in {entries}.", faults=counted, entries=entries)]
    all_holds = _(
        "{entries}: every hash and link holds, and the tables follow from them.",
        entries=entries_counted(examined.entries),
    )
    return [*report, all_holds]


def _remarks(examined: Examined) -> list[str]:
    """What is no fault and is reported: clocks, forks settled, a note that goes further."""
    remarks = [
        _(
            "Clock of entry {entry}: {what} ({found}, {expected}). The order holds without clocks.",
            entry=clock.entry,
            what=_(clock.what),
            found=show.safe(_(clock.found)),
            expected=show.safe(_(clock.expected)),
        )
        for clock in examined.clocks
    ]
    remarks += [
        _(
            "Device {device} has two entries {seq}: a fork, settled by {by} {at}: {done}",
            device=fork.device,
            seq=fork.seq,
            by=show.safe(fork.by),
            at=show.clock(fork.at),
            done=show.safe(fork.done),
        )
        for fork in examined.settled
    ]
    if examined.cut:
        device, here, noted = examined.cut
        remarks.append(
            _(
                "This book ends at entry {here} of device {device}; the note beside it says {noted}. Entries were cut off, an older copy lies here, or the last recording failed.",
                device=show.safe(device),
                here=here,
                noted=noted,
            )
        )
    return remarks
