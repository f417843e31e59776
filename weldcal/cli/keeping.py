"""Keeping the record: seals, packs, backups, exports."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import typer
from msgspec import structs

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import BY, JSON, argument, flag, option
from weldcal.cli.progress import progress
from weldcal.cli.shell import answer, print_all, print_json, say, single
from weldcal.errors import Missing, NotWritten, reason
from weldcal.reports import faults, show
from weldcal.reports import seal as seal_page
from weldcal.reports.sentences import entries_counted, photos_counted
from weldcal.settings import path_of
from weldcal.views.fault import Fault
from weldcal.words import _, plural

_FILE = argument(_("The file."))


@single
def seal(
    book: Book,
    label: str = option("--label", _("What it closes, like a day or the job; today if not given.")),
    sign: str = option("--sign", _("A key file made with weldcal key, kept outside the book.")),
    again: bool = flag("--list", _("Show the seals made so far instead.")),
    by: str = BY,
    as_json: bool = JSON,
) -> None:
    """Seal all that is recorded so far, to be handed to somebody outside the crew. Example: weldcal seal --label "North area, day 3" """
    if again:
        seals = book.sealing.seals()
        if as_json:
            print_json(seals)
        else:
            print_all([line for row in seals for line in seal_page.one_line(row)])
        return
    row = book.recording.sealing.seal(label, by=by, key=path_of(sign) if sign else None)
    if as_json:
        print_json({**row, "table": "seals"})
    else:
        print("\n".join(seal_page.page(row, book.job.name)))
    with progress(quiet=as_json) as on_progress:
        faults_found = book.sealing.verify(on_progress)[1]
    _tell(faults_found, _("the record that was sealed"))


def _tell(faults_found: Sequence[Fault], where: str) -> None:
    """Say on stderr what is wrong, and leave with 1; nothing where all holds.

    Raises:
        Exit: something is wrong.
    """
    if not faults_found:
        return
    messages = [*faults.in_short(faults_found, where), _("See all of it: weldcal verify")]
    print("\n".join(f"weldcal: {line}" for line in messages), file=sys.stderr)
    raise typer.Exit(1)


@single
def hand(
    book: Book,
    name: str = argument(_("The seal, like L1."), complete.names("seals")),
    to: str = option("--to", _("To whom.")),
    how: str = option("--how", _("Paper copy, photo, mail."), default="paper"),
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Record to whom a seal was handed. Example: weldcal hand L1 --to "owner's representative J. Vale" --how paper"""
    if not to:
        raise Missing(name=_("to whom"), option="--to", example='--to "owner\'s representative"')
    recorded = book.recording.sealing.hand(name, to, how, by=seeing.by, at=seeing.at)
    answer(book, seeing.as_json, _("Handing over of seal"), recorded)


@single
def key(file: str = _FILE, as_json: bool = JSON) -> None:
    """Make a signing key, to be kept outside the book. Example: weldcal key foreman.pem"""
    from weldcal.log import signing

    public = signing.new_key(path_of(file))
    if as_json:
        print_json({"public_key": public})
        return
    say(
        _(
            "Key {file} made; keep it away from the book. Its public half, to be given out:",
            file=show.safe(file),
        )
    )
    say(public)


@single
def pack(
    book: Book,
    file: str = _FILE,
    since: str = option("--since", _("The last pack they sent: what they had is left out.")),
    as_json: bool = JSON,
) -> None:
    """Write the record into one file for another device. Example: weldcal pack monday.weldpack"""
    with progress(quiet=as_json) as on_progress:
        header, missing = book.recording.packing.pack(
            path_of(file), path_of(since) if since else None, on_progress
        )
    if as_json:
        print_json({**structs.asdict(header), "photos_missing": missing})
    else:
        say(
            _(
                "{file}: {entries}, {photos}. On the other device: weldcal merge {file}",
                file=show.safe(file),
                entries=entries_counted(header.entries),
                photos=photos_counted(header.photos),
            )
        )
        for name in missing:
            say(
                _(
                    "Photo {name} is not beside this book as it was; the pack goes without it.",
                    name=name[:12],
                )
            )


@single
def merge(book: Book, file: str = _FILE, as_json: bool = JSON) -> None:
    """Take a pack in, whole or not at all. Example: weldcal merge monday.weldpack"""
    with progress(quiet=as_json) as on_progress:
        merged = book.recording.packing.merge(path_of(file), on_progress)
    if as_json:
        print_json(merged)
        return
    say(
        _(
            "Taken in: {new} and {photos}; here already: {known}.",
            new=entries_counted(merged.new),
            known=entries_counted(merged.known),
            photos=photos_counted(merged.photos),
        )
    )
    if merged.other_self:
        say(
            _(
                "Another copy of this book wrote as this device. From now on this one writes as a new device."
            )
        )
    for device, seq in merged.forks:
        say(
            _(
                "Device {device} has two entries {seq}: a fork. Both are kept; see: weldcal verify",
                device=device,
                seq=seq,
            )
        )
    for device, first, last in merged.missing:
        say(
            _(
                "Entries {first} to {last} of device {device} are not here yet: merge the pack that has them.",
                first=first,
                last=last,
                device=device,
            )
        )


@single
def backup(book: Book, file: str = _FILE, as_json: bool = JSON) -> None:
    """Copy the book while others write, and check the copy; a faulty book is copied too, and its faults told. Example: weldcal backup roof-2026-06-01.sqlite"""
    with progress(quiet=as_json) as on_progress:
        count, faults_found = book.recording.backups.backup(path_of(file), on_progress)
    counted = {"file": show.safe(file), "entries": entries_counted(count)}
    if as_json:
        fault_dicts = [structs.asdict(fault) for fault in faults_found]
        print_json({"file": file, "entries": count, "faults": fault_dicts})
    elif faults_found:
        say(_("{file}: {entries}, copied as they are, NOT IN ORDER.", **counted))
    else:
        say(_("{file}: {entries}, verified.", **counted))
    _tell(faults_found, _("the copy, as in the book"))


@single
def restore(book: Book, file: str = _FILE, as_json: bool = JSON) -> None:
    """Put a backup in the book's place; refused where the book holds newer work. Example: weldcal restore roof-2026-06-01.sqlite"""
    with progress(quiet=as_json) as on_progress:
        restored = book.recording.backups.restore(path_of(file), on_progress)
    if as_json:
        fault_dicts = [structs.asdict(fault) for fault in restored.faults]
        document = {
            "entries": restored.entries,
            "damaged_book_moved_to": restored.aside,
            "faults": fault_dicts,
        }
        print_json(document)
    else:
        if restored.aside:
            moved = show.safe(restored.aside)
            say(_("The book that could not be read was moved to {file}.", file=moved))
        say(
            _(
                "Restored: {entries}. This copy counts as a new device from now on.",
                entries=entries_counted(restored.entries),
            )
        )
    _tell(restored.faults, _("the book that was restored"))


@single
def export(
    book: Book,
    folder: str = argument(_("Where to; made if it is not there.")),
    no_people: bool = flag(
        "--no-people", _("Leave names of people out; free text (notes, reasons) is not searched.")
    ),
    as_json: bool = JSON,
) -> None:
    """Write every table as CSV and JSON Lines, SI units in the column names. Example: weldcal export tables"""
    try:
        with progress(quiet=as_json) as on_progress:
            written = dict(
                book.keeping.export(path_of(folder), people=not no_people, on_progress=on_progress)
            )
    except OSError as error:
        raise NotWritten(file=folder, why=reason(error)) from None
    if as_json:
        print_json(written)
    else:
        tables = plural("{n} table", "{n} tables", len(written))
        rows = plural("{n} row", "{n} rows", sum(written.values()))
        say(_("{folder}: {tables}, {rows}.", folder=show.safe(folder), tables=tables, rows=rows))


@single
def tables(
    book: Book,
    exchange: bool = flag("--exchange", _("The schema of the pack file instead.")),
    as_json: bool = JSON,
) -> None:
    """Print the schema of the tables, for any program that reads SQLite. Example: weldcal tables"""
    if exchange:
        from weldcal.log.exchange import schema

        print_json(schema())
        return
    found = book.keeping.schema()
    if as_json:
        print_json({"file": str(book.path), "tables": found})
        return
    say(
        _(
            "{file} is an SQLite file; read it with any program, write it with none.",
            file=show.safe(book.path),
        )
    )
    for name, columns in found.items():
        say(f"- {name}: {', '.join(columns)}")
