"""One question at a time: what is asked, what can be answered, what is typed in the end.

Invariant: a step is a plain list of questions made from the day and the answers
so far; the next question is the first one unanswered. Answers are kept as typed. A
question stands whole in one place: what is asked, how its answer is read, which option
of the command it fills.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from weldcal.errors import NotAChoice, NotAnswered
from weldcal.quantities import is_feet_inches, retyped
from weldcal.records.alike import ALIKE
from weldcal.records.day import Day, DayLap, LastReading, Warned
from weldcal.records.draft import DayAnswer
from weldcal.records.examples import example
from weldcal.records.fields import plain_name, read, read_place, usual_unit
from weldcal.records.times import zone_name
from weldcal.words import _, mark

FOUND = "found"  # the answer that notes something found on a walk, and does not end it
BACK = frozenset({"back", "b", "atrás", "atras"})  # one back, at any question
LEAVE = frozenset({"quit", "q", "salir"})  # leaves, at any question
# Seen so long before it is recorded, it is recorded with the time it was seen.
_LATE_S = 120


class Term(Struct, frozen=True):
    """A word of the record among a question's values: shown in the reader's language."""

    word: str


# What a question's sentence can say: text, a word, hours of age, names, or a thing of the day.
Said = str | float | Term | DayLap | Warned | tuple[str, ...] | tuple[LastReading, ...]


class Question(Struct, frozen=True):
    """One question: what is asked, how it is read, and what of the command it fills.

    Attributes:
        code: which it is; answers are kept by it.
        kind: value, many, speed, choice, name, person, zone, text, stretch, walk, confirm,
            agree (yes has to be typed), or shown (its command shows something first, and
            Enter says that it was read).
        asks: its sentence, with `values` put in.
        means: what `?` answers.
        field: what a value measures (`records.fields`), or the dial's unit of a speed.
        option: of the step's command, filled by the answer; WORD: its next word.
        unsaid: the answer that the command takes for granted.
        seen: the time of its answer is when the thing was seen.
        choices: the words that count; for a name, those known.
        default: what Enter means; None: Enter leaves it out, where it is `optional`.
        carried: Enter keeps what was read before: it is left out, and carried over.
        age_h: of what was read before.
        at: when it is recorded as seen, by Enter: a time said before, or now.
        was: what was read before, where Enter does not keep it.
        fresh: conditions read lately enough to be kept without a look.
        values: what its sentence says, besides the answers before it, by their codes.
    """

    code: str
    kind: str = "confirm"
    asks: str = ""
    means: str = ""
    field: str = ""
    option: str = ""
    unsaid: str | None = None
    seen: bool = False
    choices: tuple[str, ...] = ()
    default: str | None = None
    optional: bool = False
    carried: bool = False
    age_h: float | None = None
    at: str | None = None
    was: str | None = None
    fresh: tuple[str, ...] = ()
    values: Mapping[str, Said] = {}


WORD = "word"
WHEN = "when"  # the answer that says when a thing was seen
Given = tuple[DayAnswer, ...]


class Call(Struct, frozen=True):
    """A command of the program with its values.

    Attributes:
        command: its name, like `strip record`.
        words: what its arguments are given: text, or a value read already, whose text is shown.
        options: by their names; True for a flag.
    """

    command: str
    words: tuple[object, ...] = ()
    options: dict[str, str | bool] = {}

    def line(self) -> list[str]:
        """The words of the plain command line that does the same."""
        words = [str(word) for word in self.words]
        typed: list[str] = []
        for option, value in self.options.items():
            typed += [option] if value is True else [option, str(value)]
        apart = ["--"] if any(word.startswith("-") for word in words) else []
        if apart:
            return [*self.command.split(), *typed, *apart, *words]
        return [*self.command.split(), *words, *typed]

    def adding(self, **options: str | bool | None) -> Call:
        """The call with more options, by their names without hyphens; None is left out."""
        more = {f"--{k.replace('_', '-')}": v for k, v in options.items() if v is not None}
        return Call(self.command, self.words, {**self.options, **more})


Calls = tuple[Call, ...]


def _nothing(day: Day, given: Given) -> dict[str, str | None]:
    return {}


def _just_it(day: Day, given: Given, call: Call) -> Calls:
    return (call,)


class Step(Struct, frozen=True):
    """A step of somebody's day: its questions and the command that takes their answers.

    Attributes:
        code: the word that is typed for it.
        about: what it is, in a few words.
        asks: its questions, from the day and the answers so far.
        command: the command whose options and words the answers fill.
        records: kinds of the entries it makes, by which one broken off is known to be done.
        calls: what is called, given the command so filled; where that is not all.
        implied: answers that follow from the day and need no question, by their codes.
        once: done for the day once it was gone through.
        skips: the same, where nothing was recorded.
        shown_first: the first of its calls is made before its questions.
        dated: its command takes a time: what it records may have been seen before now.
    """

    code: str
    about: str
    asks: Callable[[Day, Given], Iterator[Question]]
    command: str
    records: tuple[str, ...] = ()
    calls: Callable[[Day, Given, Call], Calls] = _just_it
    implied: Callable[[Day, Given], dict[str, str | None]] = _nothing
    once: bool = False
    skips: bool = False
    shown_first: bool = False
    dated: bool = False

    def filled(self, day: Day, given: Given) -> Calls:
        """The calls that do the step, as answered."""
        words: list[object] = []
        options: dict[str, str | bool] = {}
        at = None
        for question in self.asks(day, given):
            text = got(given, question.code)
            if text is None:
                continue
            if question.seen:
                at = when(given, question.code)
            if question.option == WORD:
                words.append(text)
            elif question.option and text != question.unsaid:
                options[question.option] = text
        call = Call(self.command, tuple(words), options).adding(at=seen_at(day, given, at))
        return self.calls(day, given, call)


def got(given: Given, code: str) -> str | None:
    """The last answer to a question, as text."""
    return next((answer.text for answer in reversed(given) if answer.code == code), None)


def answered(given: Given, code: str) -> bool:
    """Whether a question was answered, be it by leaving it out."""
    return any(answer.code == code for answer in given)


def when(given: Given, code: str) -> str | None:
    """When a question was answered."""
    return next((answer.at for answer in reversed(given) if answer.code == code), None)


def as_asked(step: Step, day: Day, given: Given) -> Iterator[Question]:
    """A step's questions, each with the answers before it among the values of its sentence."""
    answers: dict[str, Said] = {}
    then = got(given, WHEN)
    at = (short_clock(day, then) if then else mark("now")) if step.dated else None
    for question in step.asks(day, given):
        values = {**answers, **question.values}
        yield replace(question, values=values, at=at if question.kind == "confirm" else None)
        text = got(given, question.code) or ""
        answers[question.code] = Term(text) if question.kind == "choice" else text


def first_open(step: Step, day: Day, given: Given) -> Question | None:
    """The first question without an answer; None where the step is complete."""
    codes = {answer.code for answer in given}
    return next((q for q in as_asked(step, day, given) if q.code not in codes), None)


def read_answer(question: Question, typed: str, units: str) -> tuple[str, str | None]:
    """What an answer means: to which question it is one, and its text.

    Raises:
        WeldcalError: it cannot be read; one sentence.
    """
    text = " ".join(typed.split())
    if any("\ud800" <= sign <= "\udfff" for sign in text):  # bytes that are no text
        raise NotAnswered(allowed=_like(question.kind, units))
    if not text:
        return question.code, _left_out(question, units)
    if question.kind == "walk":
        return _walked(question, text, units), text
    if question.kind == "many":
        from weldcal.intake.line import split_values  # not before it is needed

        return question.code, split_values(question.field, text, units)
    if question.kind == "value" and text.casefold() in words_of(question):
        return question.code, None  # as read before: it is carried over, with its age
    _READ[question.kind](question, text, units)
    if question.kind == "permit" and not _has_digit(text):
        return question.code, "yes"
    if question.kind == "choice" or (question.kind in NAMED and question.choices):
        text = _choice(question, text)
    return question.code, text


def _walked(question: Question, text: str, units: str) -> str:
    """Whether a line ends the walk, or notes something found on the way."""
    from weldcal.intake.probe_line import read_probe  # not before it is needed

    line = read_probe([text], units)
    return question.code if line.sound or line.whole else FOUND


def _left_out(question: Question, units: str) -> str | None:
    if question.carried:
        return None
    if question.kind in ("confirm", "shown", "permit"):
        return "yes"
    if question.default is None and not question.optional:
        words = [_(choice) for choice in question.choices]
        number = [_like(question.kind, units)] if question.kind == "value" or not words else []
        allowed = ", ".join([*number, *words])
        raise NotAnswered(allowed=allowed)
    return question.default


NAMED = ("name", "person")
_LIKE = {
    "value": mark("a number"),
    "speed": mark("a number"),
    "many": mark("numbers, like {reading}"),
    "name": mark("a name"),
    "person": mark("a name"),
    "zone": mark("a city, like Denver"),
    "text": mark("a few words"),
    "stretch": mark("a place, like {place} or {part}"),
    "walk": mark("how far, like {far}"),
    "agree": mark("yes, or b to go back"),
    "permit": mark("Enter, or the permit's number"),
    "confirm": mark("Enter, or b to go back"),
}


def _like(kind: str, units: str) -> str:
    """What a question of a kind takes, with something that can be typed in the job's units."""
    text = _LIKE.get(kind, _LIKE["confirm"])
    return _(text, **{name: example(name, units) for name in ("reading", "place", "part", "far")})


def _choice(question: Question, text: str) -> str:
    """The choice meant: its word, its translation, its number, or how either begins.

    Raises:
        NotAChoice: none of them, or more than one.
    """
    wanted = text.casefold()
    if (
        question.kind == "choice"
        and wanted.isdecimal()
        and 0 < int(wanted) <= len(question.choices)
    ):
        return question.choices[int(wanted) - 1]
    words = [(choice, {choice.casefold(), _(choice).casefold()}) for choice in question.choices]
    exact = [choice for choice, names in words if wanted in names]
    begun = [choice for choice, names in words if any(name.startswith(wanted) for name in names)]
    if question.kind in NAMED:  # other names count too
        return exact[0] if exact else text
    alike = ALIKE.get(question.code, {}).get(wanted)
    if not exact and alike in question.choices:
        return alike
    if len(found := exact or begun) != 1:
        allowed = ", ".join(_(choice) for choice in question.choices)
        raise NotAChoice(name=_("answer"), text=text, allowed=allowed)
    return found[0]


def words_of(question: Question) -> set[str]:
    """The words that choose, whole, in English and in the reader's language."""
    return {word.casefold() for choice in question.choices for word in (choice, _(choice))}


def _confirmed(question: Question, text: str, units: str) -> None:
    if text.casefold() not in ("y", "yes", _("yes").casefold(), _("yes").casefold()[:1]):
        raise NotAnswered(allowed=_like(question.kind, units))


def _permit(question: Question, text: str, units: str) -> None:
    """A number of a permit, or yes; a word like `none` is no permit."""
    if not _has_digit(plain_name(_("text"), text)):
        _confirmed(question, text, units)


def _has_digit(text: str) -> bool:
    return any(sign.isdigit() for sign in text)


def _speed(question: Question, text: str, units: str) -> None:
    if question.field == "mark" and not any(sign.isalpha() for sign in text):
        read("mark", text, units)
    else:
        read("speed", text, units, None if question.field == "mark" else question.field or None)


def _stretch(question: Question, text: str, units: str) -> None:
    from weldcal.records.fields import stretch

    if not is_feet_inches(text) and (any(sign in text[1:] for sign in "-–") or " to " in text):
        stretch(text, units)
    else:
        read_place(text, units)


def _person(question: Question, text: str, units: str) -> None:
    """A number typed too early is nobody's name."""
    if not any(sign.isalpha() for sign in plain_name(_("name"), text)):
        raise NotAnswered(allowed=_like("person", units))


_READ: dict[str, Callable[[Question, str, str], object]] = {
    "value": lambda q, text, units: (
        read_place(text, units) if q.field == "distance" else read(q.field, text, units)
    ),
    "speed": _speed,
    "stretch": _stretch,
    "choice": lambda q, text, units: None,
    "name": lambda q, text, units: plain_name(_("name"), text),
    "person": _person,
    "text": lambda q, text, units: plain_name(_("text"), text),
    "zone": lambda q, text, units: zone_name(text),
    "confirm": _confirmed,
    "agree": _confirmed,
    "shown": _confirmed,
    "permit": _permit,
}


def seen_at(day: Day, given: Given, at: str | None) -> str | None:
    """The time for `--at`: as said, or of the answer, where that is a while before it is recorded."""
    if clock_text := got(given, WHEN):
        return clock(day, clock_text)
    if at is None:
        return None
    now, then = datetime.fromisoformat(day.now), datetime.fromisoformat(at)
    return clock(day, at) if (now - then).total_seconds() > _LATE_S else None


def clock(day: Day, at: str) -> str:
    """A time as the plain command takes it: the clock alone where it is of today."""
    return at[11:19] if at[:10] == day.now[:10] else at[:19].replace("T", " ")


def short_clock(day: Day, at: str) -> str:
    """The same to be read: without seconds."""
    return clock(day, at)[:-3]


def with_unit(text: str, field: str, units: str) -> str:
    """A number with the job's unit, where it was typed bare."""
    return retyped(text, usual_unit(field, units))
