"""Likely slips of the hand, asked back before they are kept.

Invariant: a value is kept as typed only once it was said again: typed a second time at the
question, or with --as-typed where nobody is there to be asked. It is flagged then.
"""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from weldcal.book import Book
from weldcal.cli.shell import ask, interactive
from weldcal.errors import Unlikely
from weldcal.quantities import Quantity
from weldcal.records.common import Conditions, Setting
from weldcal.records.fields import plain_name, read
from weldcal.views.note import Note
from weldcal.words import _

Settled = tuple[Setting | None, Conditions]


def said_again(
    book: Book, setting: Setting | None, air: Conditions, at: str, *, as_typed: bool
) -> Settled:
    """A setting and the weather, once what is unlikely in them was confirmed or corrected.

    Raises:
        Unlikely: nobody is there to be asked.
    """
    kept: set[tuple[str, str]] = set()
    while not as_typed:
        odd = next((n for n in book.slips.unlikely(setting, air, at) if _key(n) not in kept), None)
        if odd is None:
            break
        question = _question(book, odd)
        if not interactive():
            raise Unlikely(question=question)
        answer = ask(question, partial(_answered, book, odd, setting, air))
        if answer is None:
            kept.add(_key(odd))
        else:
            setting, air = answer
    return setting, air


def correction_said_again(book: Book, name: str, field: str, value: str, *, as_typed: bool) -> str:
    """A corrected value, once it was confirmed, or corrected where it is unlikely.

    Raises:
        Unlikely: nobody is there to be asked.
    """
    while not as_typed:
        odd = next(iter(book.recording.amending.unlikely(name, field, value)), None)
        if odd is None:
            break
        question = _question(book, odd)
        if not interactive():
            raise Unlikely(question=question)
        answer = ask(question, partial(plain_name, _("value")))
        if answer is None or answer == value.strip():
            break
        value = answer
    return value


def _question(book: Book, odd: Note) -> str:
    from weldcal.reports import sentences  # most values are likely, and nothing is asked

    return sentences.asked_back(odd.code, odd.values, book.job.units)


def _key(note: Note) -> tuple[str, str]:
    return note.code, str(note.values.get("name"))


def _answered(
    book: Book, note: Note, setting: Setting | None, air: Conditions, typed: str
) -> Settled | None:
    """The values with the one that was meant; None where it was confirmed."""
    if typed.strip() == str(note.values["typed"]).strip():
        return None
    return _put_right(book, note, typed, setting, air)


def _put_right(
    book: Book, note: Note, typed: str, setting: Setting | None, air: Conditions
) -> Settled:
    """The setting and the weather with the value that was meant."""
    name = note.values.get("name")
    if name is None:
        assert setting is not None
        known, listed = book.reader.listed("machines", setting.machine, "machine")
        return replace(setting, speed=book.dials.read_speed(known if listed else None, typed)), air
    value: Quantity = read(name, typed, book.job.units)
    return setting, replace(air, **{name: value})
