"""Through the day, step by step: a draft and an answer make the next draft.

Invariant: drafts are values. Going back takes the last answer away and nothing
else; a step that was confirmed is out of the draft and stays so. Several answers typed
in one line are taken where they can only mean one thing, as the questions themselves
would take them one after another; what can mean two things is left to the question asked.
"""

from __future__ import annotations

from msgspec.structs import replace

from weldcal.errors import WeldcalError
from weldcal.flow import earlier, foreman, inspector, opening, operator, strips
from weldcal.flow.question import (
    WHEN,
    Calls,
    Given,
    Question,
    Step,
    answered,
    as_asked,
    first_open,
    read_answer,
    short_clock,
    words_of,
)
from weldcal.intake.line import tokens
from weldcal.records.day import Day, SpeedWanted
from weldcal.records.draft import DayAnswer, Draft
from weldcal.words import mark

_ROLES = {"operator": operator, "inspector": inspector, "foreman": foreman}
STEPS: dict[str, Step] = {
    step.code: step
    for step in (opening.SET_UP, opening.UNDO, *operator.STEPS, *inspector.STEPS, *foreman.STEPS)
}
_NOBODYS = {"roof", "evening", "dossier", "cautions", "me"}
LIST = "list"
_MEANT = "meant"  # a word of a step typed where a name was asked for


def known(draft: Draft) -> bool:
    """Whether a draft is of a step there is; another version may have left one that is not."""
    return draft.step in (None, LIST) or draft.step in STEPS


def opened(day: Day, draft: Draft) -> Draft:
    """The draft with the step that comes next, where it stands between steps."""
    if draft.step is not None:
        return draft
    return begun_at(day, draft, suggested(day, draft) or LIST)


def begun_at(day: Day, draft: Draft, step: str) -> Draft:
    """The draft at the beginning of a step."""
    return _with_implied(day, replace(draft, step=step, answers=()), day.now)


def _with_implied(day: Day, draft: Draft, at: str) -> Draft:
    """The draft with the answers that follow and need no question."""
    if draft.step in (None, LIST):
        return draft
    implied = STEPS[draft.step or LIST].implied(day, draft.answers)
    new = [DayAnswer(c, t, at, False) for c, t in implied.items() if not answered(draft.answers, c)]
    return replace(draft, answers=(*draft.answers, *new))


def suggested(day: Day, draft: Draft) -> str | None:
    """The step that comes next; None where nothing does."""
    if day.job is None:
        return opening.SET_UP.code
    due = _ROLES[draft.role or "operator"].due(day)
    return next((s for s in due if not {s, _of_what(day, s)} & set(draft.done)), None)


def put_off(day: Day, draft: Draft) -> tuple[str, ...]:
    """Steps that would come next if nobody had left them for later."""
    if day.job is None:
        return ()
    due = dict.fromkeys(_ROLES[draft.role or "operator"].due(day))
    return tuple(s for s in due if {s, _of_what(day, s)} & set(draft.done) and not STEPS[s].once)


def answers_so_far(day: Day, draft: Draft) -> list[tuple[Question, DayAnswer]]:
    """What was answered so far, each with its question as it would be asked now."""
    if draft.step in (None, LIST):
        return []
    given = [answer for answer in draft.answers if answer.asked and answer.text is not None]
    asked = {q.code: q for q in as_asked(STEPS[draft.step or LIST], day, draft.answers)}
    asked[WHEN] = Question(WHEN, asks=mark("Seen at"))
    shown = [
        replace(a, text=short_clock(day, a.text)) if a.code == WHEN and a.text else a for a in given
    ]
    return [(asked[one.code], one) for one in shown if one.code in asked]


def _of_what(day: Day, step: str) -> str:
    """A step and what it is about: the strip to pull, the seam to probe."""
    first = first_open(STEPS[step], day, ())
    return f"{step} {first.default or ''}" if first else step


def question(day: Day, draft: Draft) -> Question | None:
    """The next question; None where the step is complete."""
    if draft.step == LIST:
        return _listing(day, draft)
    if draft.answers and draft.answers[-1].code == _MEANT:
        return Question(
            _MEANT,
            "choice",
            mark("{word} is the word of a step. Do you mean the step, or a name?"),
            choices=(mark("step"), mark("name")),
            values={"word": draft.answers[-1].text or ""},
        )
    return first_open(STEPS[draft.step or LIST], day, draft.answers)


def wanted(day: Day, draft: Draft) -> SpeedWanted | None:
    """What advice the next question needs that the day has not; None where it needs none."""
    asked = question(day, draft)
    if draft.step != "strip" or asked is None or asked.code != "speed":
        return None
    speed_wanted = strips.wanted_for(day, draft.answers)
    is_answered = day.advised is not None and strips.fits(day.advised, speed_wanted, day.units)
    return None if is_answered else speed_wanted


def _listing(day: Day, draft: Draft) -> Question:
    """What can be done, with what comes next as default."""
    steps = _ROLES[draft.role or "operator"].open_steps(day)
    return Question(
        "which",
        "choice",
        mark("What do you want to do?"),
        mark("Enter takes what comes next."),
        choices=(*steps, opening.UNDO.code),
        default=suggested(day, draft),
    )


def answer(day: Day, draft: Draft, typed: str, at: str) -> Draft:
    """The draft with one more answer.

    Raises:
        WeldcalError: it cannot be read; the draft stands.
    """
    asked = question(day, draft)
    if asked is None:
        return draft
    if draft.answers and draft.answers[-1].code == _MEANT:
        return _as_meant(day, draft, read_answer(asked, typed, day.units)[1] or "", at)
    if _is_step(day, draft, asked, typed):
        return _longer(day, draft, DayAnswer(_MEANT, " ".join(typed.split()), at))
    if draft.step in STEPS and STEPS[draft.step].dated:
        then, typed = earlier.time_and_rest(at, day.zone, asked, typed)
        if then and not typed and asked.kind != "confirm":
            return _longer(day, draft, DayAnswer(WHEN, then, at))
        if then:
            longer = answer(day, draft, typed, at)
            slip = longer.answers[-1].code == _MEANT
            return longer if slip else _longer(day, longer, DayAnswer(WHEN, then, at, asked=False))
    if draft.step == LIST and (pull := _pulled(day, draft, asked, typed, at)) is not None:
        return pull
    several = answers_at_once(asked, typed, day.units)
    if several:
        return _longer(day, draft, *given_at_once(several, at))
    code, text = read_answer(asked, typed, day.units)
    if draft.step == LIST:
        return begun_at(day, draft, text or LIST)
    return _longer(day, draft, DayAnswer(code, text, at))


def _longer(day: Day, draft: Draft, *more: DayAnswer) -> Draft:
    """The draft with more answers, and what follows from them."""
    return _with_implied(day, replace(draft, answers=(*draft.answers, *more)), more[-1].at)


def _is_step(day: Day, draft: Draft, asked: Question, typed: str) -> bool:
    """Whether what was typed as a name is what a step is called, and no name known."""
    word = " ".join(typed.split()).casefold()
    names = {name.casefold() for name in asked.choices}
    return asked.kind == "name" and word not in names and word in words_of(_listing(day, draft))


def _as_meant(day: Day, draft: Draft, meant: str, at: str) -> Draft:
    """The step whose word was typed, begun; or the word as the name it was asked for."""
    *before, last = draft.answers
    draft = replace(draft, answers=tuple(before))
    if meant == "step":
        return begun_at(
            day, draft, read_answer(_listing(day, draft), last.text or "", day.units)[1] or LIST
        )
    asked = question(day, draft)
    return _longer(day, draft, DayAnswer(asked.code if asked else "", last.text, at))


def _pulled(day: Day, draft: Draft, asked: Question, typed: str, at: str) -> Draft | None:
    """`good` or `cold` where it is asked what to do: the pull of the one strip that waits for it."""
    if "pull" not in asked.choices or len(day.waiting) != 1:
        return None
    begun = begun_at(day, draft, "pull")
    bond = question(day, begun)
    if bond is None or " ".join(typed.split()).casefold() not in words_of(bond):
        return None
    return answer(day, begun, typed, at)


def back(draft: Draft) -> Draft:
    """Drop the last answer; before the first question, show the list of what can be done."""
    given = [n for n, one in enumerate(draft.answers) if one.asked]
    if given:
        return replace(draft, answers=draft.answers[: given[-1]], begun=None)
    if draft.step in (LIST, opening.SET_UP.code):
        return draft
    return replace(draft, step=LIST, answers=(), begun=None)


def later(day: Day, draft: Draft) -> Draft:
    """Put the step off until tomorrow; its answers are dropped."""
    if draft.step in (None, LIST, opening.SET_UP.code):
        return draft
    done = tuple(dict.fromkeys((*draft.done, _of_what(day, draft.step or ""))))
    return replace(draft, step=None, answers=(), done=done, begun=None)


def calls(day: Day, draft: Draft) -> Calls:
    """The commands that do the step, complete as it is; with who saw it, where another is typing."""
    step_calls = STEPS[draft.step or LIST].filled(day, draft.answers)
    if draft.person in (None, day.typist):
        return step_calls
    return tuple(
        call if call.command in _NOBODYS else call.adding(by=draft.person) for call in step_calls
    )


def shown_first(day: Day, draft: Draft) -> Calls:
    """What is shown before a step's questions."""
    step = STEPS.get(draft.step or "")
    return calls(day, draft)[:1] if step and step.shown_first else ()


def begun(day: Day, draft: Draft) -> Draft:
    """The step's commands begin now."""
    return replace(draft, begun=day.tick)


def finished(draft: Draft, *, noted: bool = True) -> Draft:
    """The step is done: out of the draft, and kept as done where the book has not `noted` it."""
    step = STEPS.get(draft.step or "")
    leaves = step is not None and (step.once or (step.skips and not noted))
    done = (*draft.done, draft.step or "") if leaves else draft.done
    return replace(draft, step=None, answers=(), done=tuple(dict.fromkeys(done)), begun=None)


def recorded(draft: Draft, kinds: frozenset[str]) -> bool:
    """Whether the step's command recorded, by the kinds of what its person recorded since it began."""
    return draft.step in STEPS and not kinds.isdisjoint(STEPS[draft.step].records)


def taken_up(draft: Draft, kinds: frozenset[str]) -> tuple[Draft, bool]:
    """A draft read again, and whether its step was recorded before the program stopped.

    A command that had begun either recorded or did not, and then its last answer is asked
    for again. `kinds` is as in `recorded`: what others recorded meanwhile says nothing of it.
    """
    if draft.begun is None:
        return draft, False
    if recorded(draft, kinds):
        return finished(draft), True
    return back(draft), False


def sketch(day: Day, draft: Draft) -> list[list[str]]:
    """The plain commands of the step that comes next, with capitals for what must be seen first."""
    step = suggested(day, draft)
    if step is None:
        return []
    sketched = _sketched(day, draft, step, skipping=True) or _sketched(
        day, draft, step, skipping=False
    )
    return [call.line() for call in sketched]


def _sketched(day: Day, draft: Draft, step: str, *, skipping: bool) -> Calls:
    """A step's calls; `skipping`: leave out, or answer, what Enter would."""
    given = begun_at(day, draft, step).answers
    while (asked := first_open(STEPS[step], day, given)) is not None:
        text = _stand_in(asked, step, skipping=skipping)
        longer = replace(draft, step=step, answers=(*given, DayAnswer(asked.code, text, day.now)))
        given = _with_implied(day, longer, day.now).answers
    return STEPS[step].filled(day, given)


def _stand_in(asked: Question, step: str, *, skipping: bool) -> str | None:
    """What stands in a sketch for an answer: its default, or capitals."""
    listed = "|".join(asked.choices) if asked.kind == "choice" else asked.code.upper()
    if not skipping:
        return "yes" if "yes" in asked.choices else asked.default or listed
    anew = asked.carried and step == "conditions"  # it comes next, to be read again
    seen = asked.seen and step != "conditions"
    if (asked.carried and not anew) or (asked.optional and (asked.kind == "choice" or seen)):
        return None
    return (None if anew else asked.default) or listed


AnswersAtOnce = tuple[tuple[str, str | None], ...]

_AT = Question("at", "value", field="distance")
_READINGS = Question("readings", "many", field="reading")
_SHEET = Question("sheet_temp", "value", field="sheet_temp")


def answers_at_once(question: Question, typed: str, units: str) -> AnswersAtOnce:
    """The answers that a line gives at once, by their codes; none where it is an ordinary answer."""
    text = " ".join(typed.split())
    if question.code == "lap_what":
        return _lap(text, units)
    if question.code == "still":
        return _sheet_now(question, text, units)
    return ()


def given_at_once(at_once: AnswersAtOnce, at: str) -> Given:
    """Those answers, the first as the one that was asked for: one `back` takes all of them."""
    return tuple(DayAnswer(code, text, at, n == 0) for n, (code, text) in enumerate(at_once))


def _lap(text: str, units: str) -> AnswersAtOnce:
    """`33` finishes the lap there; `14 1/4 3/16` is a check at 14."""
    try:
        place, *read = tokens([text])
    except (WeldcalError, ValueError):
        return ()
    if not read and _reads(_AT, text, units):
        return (("lap_what", "finish"), ("end", text))
    widths = " ".join(read)
    if read and _reads(_AT, place, units) and _reads(_READINGS, widths, units):
        return (
            ("lap_what", "check"),
            ("at", place),
            ("readings", read_answer(_READINGS, widths, units)[1]),
        )
    return ()


def _sheet_now(question: Question, text: str, units: str) -> AnswersAtOnce:
    """`110` where it is asked whether all is still so: the sheet is, and the rest was read lately."""
    if not _reads(_SHEET, text, units):
        return ()
    kept = tuple((name, None) for name in question.fresh if name != "sheet_temp")
    return (("still", "no"), ("sheet_temp", text), *kept)


def _reads(question: Question, text: str, units: str) -> bool:
    try:
        read_answer(question, text, units)
    except WeldcalError:
        return False
    return True
