"""The foreman: the roof, a seam traced, corrections, warnings answered, the record checked."""

from __future__ import annotations

import typer
from msgspec import structs

from weldcal.book.keeping import Examined
from weldcal.cli import complete, parse
from weldcal.cli.asked_back import correction_said_again
from weldcal.cli.parse import BY, JSON
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, answer, book_of, print_all, say, single
from weldcal.errors import Missing, NotAChoice
from weldcal.reports import show
from weldcal.reports.sentences import entries_counted
from weldcal.words import _, plural

trace = single()
amend = single()
settle = single()
verify = single()


@trace.command(cls=Command)
def trace_(
    ctx: typer.Context,
    seam: str = parse.SEAM,
    as_json: bool = JSON,
) -> None:
    """Trace one seam: strip, runs, settings, people, findings, mends, corrections. Example: weldcal trace A12"""
    book = book_of(ctx)
    found = book.traces.of_seam(seam)
    from weldcal.reports import trace as page

    if as_json:
        print(show.as_json(page.document(found)))
        return
    for line in page.page(found, book.job.units):
        say(line)


@amend.command(cls=Command)
def amend_(
    ctx: typer.Context,
    name: str = typer.Argument(
        ...,
        help=_("What is corrected, like S3, R2, F1 or a seam."),
        autocompletion=complete.ANYTHING,
    ),
    field: str = typer.Argument(..., help=_("Which value, like speed, readings, end.")),
    value: str = typer.Argument(..., help=_("The right value.")),
    why: str = typer.Option(None, "--why", help=_("The reason.")),
    as_typed: bool = parse.AS_TYPED,
    by: str = BY,
    at: str = parse.AT,
    as_json: bool = JSON,
) -> None:
    """Correct a value, with the reason; the old reading stays visible. Example: weldcal amend S3 speed 5.5 --why "misread the dial" """
    if not why:
        raise Missing(name=_("reason"), option="--why", example='--why "misread the dial"')
    book = book_of(ctx)
    value = correction_said_again(book, name, field, value, as_typed=as_typed)
    done = book.recording.amending.amend(name, field, value, why, by=by, at=at)
    answer(ctx, as_json, _("Correction of"), done)


@settle.command(cls=Command)
def settle_(
    ctx: typer.Context,
    run: str = typer.Argument(
        ...,
        help=_("The run that was warned, like R4; or a fork, like 5742a9000001/12."),
        autocompletion=complete.names("runs", "covers"),
    ),
    done: str = typer.Argument(..., help=_("What was done about it.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Record what was done about a warning, or about a fork that verify tells of. Example: weldcal settle R4 "strip S5 run at once, good; lap probed" """
    book = book_of(ctx)
    if "/" in run:
        answer(
            ctx,
            as_json,
            _("Answer to the fork of"),
            book.recording.packing.settle_fork(run, done, by=by),
        )
        return
    answer(
        ctx,
        as_json,
        _("Answer to the warning of"),
        book.recording.amending.settle(run, done, by=by),
    )


@verify.command(cls=Command)
def verify_(
    ctx: typer.Context,
    seal: str = typer.Option(
        None, "--seal", help=_("A seal's code: is the record still what it sealed?")
    ),
    key: str = typer.Option(
        None,
        "--key",
        help=_("With --seal: the public key on the same paper; whose seal must it be?"),
    ),
    rebuild: bool = typer.Option(
        False, "--rebuild", help=_("Make the tables anew from the entries first.")
    ),
    as_json: bool = JSON,
) -> None:
    """Recompute every hash and derive the tables anew; show every fault. Exit code 1 if any. Example: weldcal verify"""
    book = book_of(ctx)
    if key is not None and seal is None:
        raise Missing(name=_("seal code"), option="--seal", example="--seal CODE")
    with progress(quiet=as_json) as on_progress:
        if rebuild:
            book.recording.backups.rebuild(on_progress)
        found = book.keeping.examine(seal, on_progress, key=_public(key))
    if as_json:
        document = {
            "entries": found.entries,
            "faults": [structs.asdict(f) for f in found.faults],
            "clocks": [structs.asdict(f) for f in found.clocks],
            "settled": [{**structs.asdict(f), "hashes": sorted(f.hashes)} for f in found.settled],
            "cut": list(found.cut) if found.cut else None,
            "seal": found.sealed,
        }
        print(show.as_json(document))
    else:
        print_all(_examined(found))
    if found.faults:
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


def _examined(found: Examined) -> list[str]:
    """What the check of the record came to."""
    from weldcal.reports import faults

    report = [*faults.lines(found.faults), *_remarks(found)]
    if found.sealed:
        from weldcal.reports import seal

        report += seal.report(found.sealed, whole=not found.faults)
    if found.faults:
        counted = plural("{n} fault", "{n} faults", len(found.faults))
        entries = entries_counted(found.entries)
        return [*report, _("{faults} in {entries}.", faults=counted, entries=entries)]
    all_holds = _(
        "{entries}: every hash and link holds, and the tables follow from them.",
        entries=entries_counted(found.entries),
    )
    return [*report, all_holds]


def _remarks(found: Examined) -> list[str]:
    """What is no fault and is reported: clocks, forks settled, a note that goes further."""
    remarks = [
        _(
            "Clock of entry {entry}: {what} ({found}, {expected}). The order holds without clocks.",
            entry=clock.entry,
            what=_(clock.what),
            found=show.safe(_(clock.found)),
            expected=show.safe(_(clock.expected)),
        )
        for clock in found.clocks
    ]
    remarks += [
        _(
            "Device {device} has two entries {seq}: a fork, settled by {by} {at}: {done}",
            device=one.device,
            seq=one.seq,
            by=show.safe(one.by),
            at=show.clock(one.at),
            done=show.safe(one.done),
        )
        for one in found.settled
    ]
    if found.cut:
        device, here, noted = found.cut
        remarks.append(
            _(
                "This book ends at entry {here} of device {device}; the note beside it says {noted}. Entries were cut off, an older copy lies here, or the last recording failed.",
                device=show.safe(device),
                here=here,
                noted=noted,
            )
        )
    return remarks


APPS = {"trace": trace, "amend": amend, "settle": settle, "verify": verify}
