"""Samples and charts: how many, where, what they show."""

from __future__ import annotations

from msgspec import structs

from weldcal.book import Book
from weldcal.cli import complete, parse
from weldcal.cli.parse import JSON, argument, option
from weldcal.cli.shell import Command, group, print_all, print_json, single
from weldcal.records.fields import read
from weldcal.reports import show
from weldcal.words import _

sample = group(_("Samples: how many, where, what they show."))


@single
def chart(
    book: Book,
    strip: str = argument(
        _("The go-ahead, like S3; the newest if not given."), complete.STRIPS, default=None
    ),
    as_json: bool = JSON,
) -> None:
    """Chart the bleed checks against their go-ahead: individuals and EWMA, the first point out, the seams it puts in doubt. Example: weldcal chart"""
    charted = book.sampling.bleed_chart(strip)
    from weldcal.reports import control, signs

    if as_json:
        print_json(control.document(charted))
    else:
        print("\n".join(control.page(charted, book.job.units)))
        print_all(signs.line(book.dialling.state_of(charted.strip)))


@sample.command("plan", cls=Command)
def sample_plan(
    most: str = option("--most", _("Share of the lap that may be bad, percent."), default="5"),
    confidence: str = option("--confidence", _("Percent."), default="95"),
    allowed: str = option("--allowed", _("Failures allowed."), default="0"),
    per_lap: str = option("--per-lap", _("Feet probed in a row on each lap."), default="10"),
    as_json: bool = JSON,
) -> None:
    """How many samples, or feet of probing, show that no more than a share is bad. Example: weldcal sample plan --most 5 --confidence 95"""
    from weldcal.quality.sampling import feet_needed, samples_needed
    from weldcal.reports import control

    share, sure = (read("chance", text, "us").si("%") / 100 for text in (most, confidence))
    count, row = (int(read("count", text, "us").number) for text in (allowed, per_lap))
    needed = samples_needed(share, sure, count)
    feet = feet_needed(share, sure, allowed=count, per_lap=max(1, row))
    if as_json:
        print_json(control.plan_document(needed, feet))
    else:
        print_all(control.plan(share, sure, count, needed, feet))


_SEED = option("--seed", _("To draw the same places again."))


@sample.command("draw", cls=Command)
def sample_draw(
    book: Book,
    count: str = option("--count", _("How many places."), default="5"),
    seed: str = _SEED,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """Draw places at random along all welded lap, and record them with their seed. Example: weldcal sample draw --count 5"""
    number = int(read("seed", seed, "us").number) if seed else None
    name, places, used = book.recording.sampling.draw(
        int(read("places", count, "us").number), number, seeing.read(book)
    )
    if seeing.as_json:
        print_json({"name": name, "seed": used, "places": [structs.asdict(p) for p in places]})
        return
    units = book.job.units
    print_all(
        [
            _(
                "{name}: drawn with seed {seed}, evenly along all welded lap that is not covered.",
                name=name,
                seed=used,
            ),
            *(f"- {show.safe(p.seam)} {show.tape(p.at_m, units)}" for p in places),
        ]
    )


@sample.command("cuts", cls=Command)
def sample_cuts(
    book: Book,
    count: str = option(
        "--count", _("How many samples the plan asks in all; the rest is drawn."), default="0"
    ),
    seed: str = _SEED,
    seeing: parse.SeenTyped = parse.SEEN_BY,
) -> None:
    """The fewest cuts that end what is in doubt, and with them the samples of the plan. Example: weldcal sample cuts --count 5"""
    number = int(read("seed", seed, "us").number) if seed else None
    wanted = int(read("count", count, "us").number)
    cuts, rest, name, used = book.recording.sampling.sample_cuts(wanted, number, seeing.read(book))
    names = book.doubting.seam_names()
    from weldcal.reports import doubts

    if seeing.as_json:
        print_json(doubts.cuts_document(cuts, rest, name, used, names))
    else:
        print_all(doubts.cuts(cuts, rest, name, used, names, book.job.units))


@sample.command("loads", cls=Command)
def sample_loads(
    book: Book,
    least: str = option("--least", _("Least load per width, like 20lbf/in.")),
    as_json: bool = JSON,
) -> None:
    """What the peel samples show: loads, how they parted, tolerance bound, spacing to the next. Example: weldcal sample loads --least 20lbf/in"""
    units = book.job.units
    declared = book.sampling.declared_load()
    limit = read("line_load", least, units).si("N/mm") if least else None
    if limit is None and declared is not None:
        limit = declared[0]
    loads = book.sampling.peel_loads(limit)
    spacing, share = book.sampling.peel_outcomes()
    from weldcal.reports import control

    if as_json:
        print_json(control.loads_document(loads, spacing, share))
    else:
        source = declared[1] if declared is not None and not least else None
        print_all(control.loads(loads, spacing, share, limit, units, source))
