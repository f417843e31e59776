"""After a failure: what is in doubt, and where faults come from."""

from __future__ import annotations

import re

from msgspec import structs

from weldcal.book import Book
from weldcal.cli import complete
from weldcal.cli.parse import JSON, flag, option
from weldcal.cli.shell import print_all, print_json, single
from weldcal.records.fields import choose
from weldcal.words import _


@single
def doubt(
    book: Book,
    every: bool = flag("--all", _("All failures, not only those that put most in doubt.")),
    as_json: bool = JSON,
) -> None:
    """List what is in doubt after a failed check, probe or sample, between the last good check before and the first good one after, and what would clear it. Example: weldcal doubt"""
    in_doubt = book.doubting.doubt()
    from weldcal.reports import doubts

    names = book.doubting.seam_names()
    if as_json:
        print_json(doubts.document(in_doubt, names, book.doubting.strip_names()))
    else:
        hidden = set(book.hiding.covers())
        strips, units = book.doubting.strip_names(), book.job.units
        print_all(doubts.page(in_doubt, names, strips, hidden, units, every=every))
        cuts = [cut for cut in book.doubting.cuts() if cut.place.seam not in hidden]
        print_all(doubts.fewest(cuts, names, book.job.units))


@single
def faults(
    book: Book,
    by: str = option(
        "--by",
        _(
            "Only by these: lap, kind (side or end), sheet, machine, operator, hour, weather, tool, go-ahead; like kind,hour."
        ),
        complete.words("factor"),
    ),
    no_people: bool = flag("--no-people", _("Numbers instead of names.")),
    as_json: bool = JSON,
) -> None:
    """Where faults come from: rate per 100 ft probed by operator, machine, sheet, hour and weather, with what chance can do. Example: weldcal faults --by kind,hour"""
    split = [choose("factor", word) for word in re.split(r"[,;]", by)] if by else []
    fault_table = book.doubting.fault_rates(people=not no_people, by=split)
    from weldcal.reports import doubts, terminal

    if as_json:
        rates = [
            {**structs.asdict(r), "confounded": [structs.asdict(o) for o in r.confounded]}
            for r in fault_table.rates
        ]
        print_json({**structs.asdict(fault_table), "rates": rates})
    else:
        print_all(doubts.faults(fault_table, book.job.units))
        if split:
            terminal.drawing(doubts.forest(fault_table, book.job.units))
