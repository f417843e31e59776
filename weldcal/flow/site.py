"""What a day needs besides strips and laps: start-up list, hot work, rolls, samples, covers.

Invariant: Enter skips each of them and records nothing; nobody says by Enter alone that a
watch was stood, a sample parted, or a lap was hidden.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from weldcal.flow.question import WORD, Call, Calls, Given, Question, Step, answered, got, with_unit
from weldcal.records.day import Day
from weldcal.words import mark


def confirm(asks: str) -> Question:
    """The last question of such a step: Enter records what was typed before."""
    return Question("confirm", asks=asks)


def _recorded(day: Day, given: Given, call: Call) -> Calls:
    """The command where it was confirmed; nothing where the first question was skipped."""
    return (call,) if answered(given, "confirm") else ()


# -- hot work ------------------------------------------------------------------------------


def _cautions(day: Day, given: Given) -> Iterator[Question]:
    permitted = day.needs.hot_work is not None
    yield Question(
        "cautions",
        "shown" if permitted else "permit",
        mark("Enter: read, and seen to")
        if permitted
        else mark("Enter: read, and seen to; or type the hot-work permit's number"),
        mark("Nothing hot before these are seen to."),
    )
    if got(given, "cautions") in (None, "yes"):
        return
    yield Question(
        "extinguisher",
        "text",
        mark("Extinguisher: which, and where it stands"),
        option="--extinguisher",
    )
    yield Question("deck", "text", mark("What the deck is made of"), option="--deck")
    yield Question(
        "watch",
        "value",
        mark("Watch afterwards, as the permit wants it, like 60min"),
        mark("How long somebody stays and watches. It is what the permit or local code says."),
        field="minutes",
        option="--watch",
    )
    watch = with_unit(got(given, "watch") or "", "minutes", day.units)
    yield replace(
        confirm(mark("Hot work, permit {cautions}, watch {watch}. Enter records it")),
        values={"watch": watch},
    )


def _begun(day: Day, given: Given, call: Call) -> Calls:
    """The cautions shown; then the hot work where a permit was named."""
    shown = Call("cautions")
    if not answered(given, "confirm"):
        return (shown,)
    permit = got(given, "cautions") or ""
    return (shown, call.adding(permit=permit, watch_source=f"permit {permit}"))


def _ended(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "ended",
        "choice",
        mark("Is hot work {work} over for today? The watch begins then"),
        mark("Yes: nothing hot any more. The watch counts from now, or from the time you type."),
        choices=("yes", "no"),
        default="no",
        values={"work": day.needs.hot_work or ""},
    )
    if got(given, "ended") == "yes":
        yield confirm(mark("Hot work over. Enter records it"))


def _of_work(day: Day, given: Given, call: Call) -> Calls:
    work = got(given, "work")
    return (Call(call.command, (work,), call.options),) if answered(given, "confirm") else ()


def _watch(day: Day, given: Given) -> Iterator[Question]:
    watch = day.needs.watch
    yield Question(
        "watch_found",
        "text",
        mark("Watch over {work} stood to {until}: what was seen, like nothing")
        if watch
        else mark("Watch stood: what was seen, like nothing"),
        mark("Only who stood the watch says so. It is recorded as stood until now."),
        option="--found",
        seen=True,
        optional=True,
        values={"work": watch.name, "until": watch.until} if watch else {},
    )
    if got(given, "watch_found"):
        yield confirm(mark("Watch stood, seen: {watch_found}. Enter records it"))


def _work_ended(day: Day, given: Given) -> dict[str, str | None]:
    return {"work": day.needs.hot_work} if day.needs.hot_work else {}


def _work_watched(day: Day, given: Given) -> dict[str, str | None]:
    return {"work": day.needs.watch.name} if day.needs.watch else {}


CAUTIONS = Step(
    mark("cautions"),
    mark("before hot air; the permit"),
    _cautions,
    "hotwork start",
    ("hot-work",),
    _begun,
    once=True,
    shown_first=True,
)
ENDED = Step(
    mark("hot work over"),
    mark("hot work ended; the watch begins"),
    _ended,
    "hotwork end",
    ("hot-work-end",),
    _of_work,
    _work_ended,
    skips=True,
    dated=True,
)
WATCH = Step(
    mark("watch"),
    mark("the watch after hot work"),
    _watch,
    "hotwork watch",
    ("watch",),
    _of_work,
    _work_watched,
    skips=True,
    dated=True,
)


def due(day: Day) -> Iterator[str]:
    """Hot work to be ended and watched, once nothing else is to be done."""
    if day.needs.hot_work:
        yield ENDED.code
    if day.needs.watch and day.needs.watch.over:
        yield WATCH.code


def gone(day: Day) -> dict[str, bool]:
    """Which of these steps there is nothing for."""
    return {
        ENDED.code: day.needs.hot_work is None,
        WATCH.code: day.needs.watch is None,
        START_UP.code: day.needs.start_up is None,
    }


# -- the start-up list -----------------------------------------------------------------------


def _start_up(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "seen_to",
        "text",
        mark("Start-up list, before the first lap; open: {open}. Lines seen to, like 1-9,12"),
        mark("Whoever looked at them says so. Enter leaves them open."),
        option=WORD,
        optional=True,
        values={"open": day.needs.start_up or ""},
    )
    if got(given, "seen_to"):
        yield Question(
            "seen_said",
            "choice",
            mark("Lines {seen_to}"),
            mark("No leaves a line open."),
            option=WORD,
            choices=("yes", "no", "not needed"),
        )
        yield confirm(mark("Start-up list, {seen_to}: {seen_said}. Enter records it"))


def _listed(day: Day, given: Given, call: Call) -> Calls:
    """The list shown; then its lines answered."""
    shown = Call("startup")
    return (shown, call) if answered(given, "confirm") else (shown,)


START_UP = Step(
    mark("startup"),
    mark("the start-up list of the job"),
    _start_up,
    "startup answer",
    ("start-answer",),
    _listed,
    skips=True,
    shown_first=True,
    dated=True,
)


# -- rolls, samples, covers -----------------------------------------------------------------


def _rolls(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "lot",
        "name",
        mark("Lot of the rolls that came"),
        mark("As printed on the wrapper."),
        option=WORD,
        choices=day.needs.lots,
        optional=True,
    )
    if got(given, "lot"):
        yield Question(
            "storage",
            "text",
            mark("How they stand, like upright, covered"),
            option="--storage",
            optional=True,
        )
        yield Question(
            "conditioned",
            "text",
            mark("How they were warmed or cooled before use"),
            option="--conditioned",
            optional=True,
        )
        yield confirm(mark("Rolls of lot {lot}. Enter records it"))


def _peel(day: Day, given: Given) -> Iterator[Question]:
    yield Question("peeled", "name", mark("Sample cut from seam"), option=WORD)
    yield Question("peel_at", "value", mark("Cut at"), field="distance", option=WORD)
    yield Question(
        "parted",
        "choice",
        mark("Sample of {peeled} at {peel_at} pulled: it parted"),
        mark("A place drawn at random, or one in doubt. Not cut yet? Enter leaves it."),
        option="--parted",
        seen=True,
        choices=("in the compound", "in the reinforcement", "at the lap", "not parted"),
        optional=True,
    )
    if got(given, "parted"):
        yield Question(
            "load", "value", mark("Peel load"), field="load", option="--load", optional=True
        )
        yield Question(
            "width",
            "value",
            mark("Width of the sample"),
            field="sample_width",
            option="--width",
            optional=True,
        )
        yield confirm(mark("Sample of {peeled} at {peel_at}: {parted}. Enter records it"))


def _drawn(day: Day, given: Given) -> dict[str, str | None]:
    first = next(iter(day.needs.samples), None)
    return {"peeled": first.seam, "peel_at": first.at} if first else {}


def _cover(day: Day, given: Given) -> Iterator[Question]:
    yield Question(
        "covered",
        "text",
        mark("What the next ply hid today, like A or A1-A4"),
        mark("What is hidden can be opened up, never again be probed."),
        option=WORD,
        optional=True,
    )
    if got(given, "covered"):
        yield Question(
            "agree_cover",
            "agree",
            mark("{covered} hidden; what is not probed clean stays a warning. Type yes"),
        )


def _covered(day: Day, given: Given, call: Call) -> Calls:
    return (call,) if answered(given, "agree_cover") else ()


ROLLS = Step(
    mark("rolls"),
    mark("rolls that came, by lot"),
    _rolls,
    "roll add",
    ("roll",),
    _recorded,
    skips=True,
    dated=True,
)
PEEL = Step(
    mark("peel"),
    mark("a peel sample"),
    _peel,
    "peel",
    ("peel",),
    _recorded,
    _drawn,
    skips=True,
    dated=True,
)
COVER = Step(
    mark("cover"),
    mark("laps hidden by the next ply"),
    _cover,
    "cover",
    ("cover",),
    _covered,
    once=True,
    dated=True,
)
