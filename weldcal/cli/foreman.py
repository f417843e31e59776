"""The foreman: the roof, a seam traced, corrections, warnings answered, the record checked."""

from __future__ import annotations

from typing import Any

import typer
from msgspec import structs

from weldcal.cli import complete, parse
from weldcal.cli.parse import BY, JSON
from weldcal.cli.progress import progress
from weldcal.cli.shell import Command, answer, book_of, print_all, say, single
from weldcal.errors import Missing
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
    found = book.trace(seam)
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
    by: str = BY,
    at: str = parse.AT,
    as_json: bool = JSON,
) -> None:
    """Correct a value, with the reason; the old reading stays visible. Example: weldcal amend S3 speed 5.5 --why "misread the dial" """
    if not why:
        raise Missing(name=_("reason"), option="--why", example='--why "misread the dial"')
    done = book_of(ctx).amend(name, field, value, why, by=by, at=at)
    answer(ctx, as_json, _("Correction of"), done)


@settle.command(cls=Command)
def settle_(
    ctx: typer.Context,
    run: str = typer.Argument(
        ...,
        help=_("The run that was warned, like R4."),
        autocompletion=complete.names("runs", "covers"),
    ),
    done: str = typer.Argument(..., help=_("What was done about it.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Record what was done about a warning. Example: weldcal settle R4 "strip S5 run at once, good; lap probed" """
    answer(ctx, as_json, _("Answer to the warning of"), book_of(ctx).settle(run, done, by=by))


@verify.command(cls=Command)
def verify_(
    ctx: typer.Context,
    seal: str = typer.Option(
        None, "--seal", help=_("A seal's code: is the record still what it sealed?")
    ),
    rebuild: bool = typer.Option(
        False, "--rebuild", help=_("Make the tables anew from the entries first.")
    ),
    as_json: bool = JSON,
) -> None:
    """Recompute every hash and derive the tables anew; show every fault. Exit code 1 if any. Example: weldcal verify"""
    book = book_of(ctx)
    with progress(quiet=as_json) as beat:
        if rebuild:
            book.rebuild(beat)
        found = book.examine(seal, beat)
    if as_json:
        document = {
            "entries": found.entries,
            "faults": [structs.asdict(f) for f in found.faults],
            "clocks": [structs.asdict(f) for f in found.clocks],
            "seal": found.sealed,
        }
        print(show.as_json(document))
    else:
        print_all(_examined(found))
    if found.faults:
        raise typer.Exit(1)


def _examined(found: Any) -> list[str]:
    """What the check of the record came to."""
    faults, sealed = found.faults, found.sealed
    said = [
        *(
            _(
                "Entry {entry}, {what}: expected {expected}, found {found}.",
                entry=fault.entry,
                what=_(fault.what),
                expected=show.safe(_(fault.expected)),
                found=show.safe(_(fault.found)),
            )
            for fault in faults
        ),
        *(
            _(
                "Clock of entry {entry}: {what} ({found}, {expected}). The order holds without clocks.",
                entry=clock.entry,
                what=_(clock.what),
                found=_(clock.found),
                expected=_(clock.expected),
            )
            for clock in found.clocks
        ),
    ]
    if faults:
        counted = plural("{n} fault", "{n} faults", len(faults))
        return [
            *said,
            _("{faults} in {entries}.", faults=counted, entries=entries_counted(found.entries)),
        ]
    if sealed:
        said.append(
            _(
                "The record holds all that seal {name} of {at} sealed, unchanged.",
                name=sealed["name"],
                at=sealed["at"],
            )
        )
        said += _seal_report(sealed)
    whole = _(
        "{entries}: every hash and link holds, and the tables follow from them.",
        entries=entries_counted(found.entries),
    )
    return [*said, whole]


def _seal_report(sealed: dict[str, Any]) -> list[str]:
    """Whose signature a seal carries, and what came after it."""
    signed = (
        _("Signed with key {key}. Compare it with the key on paper.", key=show.safe(sealed["key"]))
        if sealed.get("signature")
        else _("Not signed: nothing ties it to a key. If the paper shows one, it was taken off.")
    )
    since = plural("{n} entry", "{n} entries", sealed["entries_since"])
    corrected = _(
        "Recorded since: {since}; of what was sealed, corrected or taken back since: {n}.",
        since=since,
        n=sealed["corrected_since"],
    )
    return [signed, corrected]


APPS = {"trace": trace, "amend": amend, "settle": settle, "verify": verify}
