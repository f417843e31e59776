"""A probe walk in one typed line: `sound to 33, void 14.5 3in x 1/2in`.

Grammar, in English and Spanish words; commas only part them:

    line  = part*
    part  = sound [[from] A] [to] B     probed and nothing found there; sound alone: the whole seam
          | KIND [at] A [to B | LENGTH [long]] [x DEPTH | DEPTH deep]
          | HH:MM [to HH:MM]            when the walk began, and ended
          | note ANYTHING               to the end of the line

Invariant: kinds are those of the record's own list. What was walked is what was
said to be sound together with what was found: a gap between them is refused,
for nobody said that it was probed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from weldcal.errors import Missing, WordUnknown
from weldcal.intake.line import is_bare, is_number, tokens
from weldcal.intake.strip_line import quantity_text
from weldcal.quantities import Quantity, feet_inches_word, is_feet_inches
from weldcal.records.alike import ALIKE
from weldcal.records.examples import example, no_stretch
from weldcal.records.fields import CHOICES, folded, past, read, read_place, says_end
from weldcal.words import _

_SOUND = {
    folded(w)
    for w in (
        "sound",
        "clean",
        "ok",
        "good",
        "bien",
        "bueno",
        "buena",
        "sano",
        "sana",
        "limpio",
        "limpia",
    )
}
_FROM = {"from", "de", "desde"}
_TO = {"to", "hasta", "a", "-", "–", "—"}
_OF, _FISH = {"de"}, {"pez"}  # 3 in de largo; boca de pez
_AT = {"at", "en", "@"}
_LONG = {"long", "largo", "larga", "longitud"}
_DEEP = {"deep", "hondo", "honda", "profundo", "profunda", "profundidad"}
_BY = {"x", "×", "por"}
_STARTED = {
    "started",
    "begun",
    "began",
    "empezado",
    "empezada",
    "inicio",
    "ended",
    "terminado",
    "terminada",
    "fin",
}
_NOTE = {"note", "nota"}
# A sample is cut with its own command; everything else can be come upon while probing.
KINDS = tuple(kind for kind in CHOICES["flaw"][1] if kind != "sample cut")
_KIND_OF = {kind: kind for kind in KINDS} | {
    word: kind for word, kind in ALIKE["flaw"].items() if kind in KINDS
}
_THE = {"the", "its", "el", "al"}
_INCHES = re.compile(
    r"(?:\d+|\d+/\d+|\d+[ -]\d+/\d+)\s*(?:in|inch|inches|pulgadas?|\"|″)", re.IGNORECASE
)
_CLOCK = re.compile(r"\d{1,2}:\d{2}(?::\d{2})?(?:[ap]\.?m\.?)?", re.IGNORECASE)
_TWO = re.compile(r"(?P<a>[\d.]+\s*[A-Za-z'\"]*)(?:-|–|—|\.\.)(?P<b>(?:[\d.].*|end|fin))")
_MIXED = re.compile(r"\d+-\d+/\d+.*")


class ProbeFound(Struct, frozen=True, kw_only=True):
    """Something found: its kind, where from and, where said, where to or how long, and how deep."""

    kind: str
    at: Quantity
    end: Quantity | None = None
    length: Quantity | None = None
    depth: Quantity | None = None

    def past(self) -> Quantity:
        """Where it ends, exact, in the unit it begins in."""
        if self.end is not None:
            return self.end
        return self.at if self.length is None else past(self.at, self.length)


class ProbeLine(Struct, frozen=True, kw_only=True):
    """What a line says of a walk: (from, to) of the sound stretches, what was found, when."""

    sound: tuple[tuple[Quantity | None, Quantity], ...] = ()
    found: tuple[ProbeFound, ...] = ()
    started: str | None = None
    ended: str | None = None
    note: str | None = None
    whole: bool = False

    def __str__(self) -> str:
        """The line in full words: read again, it says the same."""
        return typed_again(self)


def read_probe(words: Sequence[str], units: str) -> ProbeLine:
    """Read a line.

    Raises:
        WordUnknown: a word without meaning here.
        Unreadable: a value that cannot be.
    """
    return _Reader(_cut(tokens(words)), units).all()


def _cut(parts: list[str]) -> list[str]:
    """`0-33`, `14.5+3in` and `3inx1/2in` cut in two; `5-1/2` is one number."""
    found: list[str] = []
    for part in parts:
        pieces = [part]
        two = _TWO.fullmatch(part)
        if is_feet_inches(part):
            pass
        elif two and not _MIXED.fullmatch(part):
            pieces = [two["a"], "-", two["b"]]
        elif is_number(part):
            pieces = [p for p in re.split(r"\+|(?<=[\w\"'])([x×])(?=[\d.¼-¾⅐-⅞])", part) if p]
        found += pieces
    return found


class _Reader:
    def __init__(self, left: list[str], units: str) -> None:
        self._left = left
        self._units = units
        self._sound: list[tuple[Quantity | None, Quantity]] = []
        self._found: list[ProbeFound] = []
        self._times: list[str] = []
        self._note: str | None = None
        self._whole = False

    def all(self) -> ProbeLine:
        while self._left:
            self._part(self._left.pop(0))
        began, ended = (*self._times, None, None)[:2]
        return ProbeLine(
            sound=tuple(self._sound),
            found=tuple(self._found),
            started=began,
            ended=ended,
            note=self._note,
            whole=self._whole,
        )

    def _part(self, token: str) -> None:
        word = folded(token)
        if _CLOCK.fullmatch(token):
            self._time(token)
        elif word in _KIND_OF:
            self._finding(_KIND_OF[word])
        elif word in _SOUND:
            self._stretch()
        elif word in _FROM | _TO or is_number(token):
            self._left.insert(0, token)
            self._stretch()
        elif word in _NOTE:
            self._note = " ".join(self._left)
            self._left.clear()
        elif word not in _STARTED:
            raise _not_understood(token, self._units)

    def _time(self, token: str) -> None:
        if len(self._times) == 2:
            raise WordUnknown(text=token, allowed=_("two times at most: begun, ended"))
        self._times.append(token)
        if self._skip(_TO) and not (self._left and _CLOCK.fullmatch(self._left[0])):
            raise WordUnknown(text=token, allowed=_("when the walk ended, like 13:25"))

    def _stretch(self) -> None:
        self._skip(_FROM)
        start = None if self._next_is(_TO) else self._place()
        if self._skip(_TO):
            end = self._place()
            if end is None:
                raise no_stretch(" ".join(self._left[:1]), self._units)
            self._sound.append((_in_unit_of(start, end), end))
        elif start is not None:
            self._sound.append((None, start))
        else:
            self._whole = True

    def _finding(self, kind: str) -> None:
        self._skip(_OF, _FISH, _AT)
        at = self._place(then_length=True)
        if at is None:
            where = " ".join(self._left[:1]) or kind
            raise WordUnknown(
                text=where,
                allowed=_(
                    "where the {kind} lies, like {kind} {found}",
                    kind=_(kind),
                    found=example("found", self._units).partition(" x ")[0],
                ),
            )
        if self._skip(_TO):
            end = self._place()
            if end is None:
                raise no_stretch(" ".join(self._left[:1]), self._units)
            self._found.append(
                ProbeFound(kind=kind, at=_in_unit_of(at, end) or at, end=end, depth=self._depth())
            )
            return
        length = None
        if not self._next_is(_BY) and not (len(self._left) > 1 and folded(self._left[1]) in _DEEP):
            length = self._number("patch")
            self._skip(_OF, _LONG)
        self._found.append(ProbeFound(kind=kind, at=at, length=length, depth=self._depth()))

    def _depth(self) -> Quantity | None:
        by = self._skip(_BY)
        depth = self._number("depth")
        if by and depth is None:
            raise WordUnknown(
                text="x", allowed=_("how deep, like x {deep}", deep=example("deep", self._units))
            )
        self._skip(_OF, _DEEP)
        return depth

    def _place(self, *, then_length: bool = False) -> Quantity | None:
        """A place along the lap: a distance, in feet and inches too, or its end.

        Args:
            then_length: inches after feet are a length of what was found, unless one more follows.
        """
        if len(self._left) > 1 and folded(self._left[0]) in _THE and says_end(self._left[1]):
            self._left.pop(0)
        if self._left and says_end(self._left[0]):
            return read_place(self._left.pop(0), self._units)
        n = self._inches_after()
        after = self._left[n + 1] if len(self._left) > n + 1 else ""
        measured = (
            is_number(after) or folded(after) in _TO if then_length else folded(after) not in _DEEP
        )
        if n and measured:
            self._left[: n + 1] = [" ".join(self._left[: n + 1])]
        return self._number("distance")

    def _inches_after(self) -> int:
        """How many words after feet say inches: 26 ft, 10, 5/8 in."""
        feet = (
            re.fullmatch(r"\d+\s*(?:ft|feet|foot|pies?|')", self._left[0]) if self._left else None
        )
        if feet is None:
            return 0
        for n, inches in ((1, self._left[1:2]), (2, self._left[1:3])):
            if len(inches) == n and _INCHES.fullmatch(" ".join(inches)):
                return n
        return 0

    def _number(self, field: str) -> Quantity | None:
        if not self._left or not is_number(self._left[0]) or _CLOCK.fullmatch(self._left[0]):
            return None
        return read(field, self._left.pop(0), self._units)

    def _next_is(self, words: set[str]) -> bool:
        return bool(self._left) and folded(self._left[0]) in words

    def _skip(self, *kinds: set[str]) -> bool:
        """Leave out words of those kinds, one of each, where they come next."""
        before = len(self._left)
        for words in kinds:
            if self._next_is(words):
                self._left.pop(0)
        return len(self._left) < before


def _in_unit_of(start: Quantity | None, end: Quantity) -> Quantity | None:
    """A bare number before `to` is in the unit after it: `0 to 10m`."""
    if start is None or not is_bare(start.text) or start.unit == end.unit:
        return start
    return Quantity(text=start.text, number=start.number, unit=end.unit)


def _not_understood(token: str, units: str) -> WordUnknown:
    kinds = ", ".join(_(kind) for kind in KINDS)
    return WordUnknown(
        text=token,
        allowed=_(
            "sound to {far}; a kind ({kinds}) with where it lies, like void {found}; a time like 13:10; or note and anything",
            far=example("far", units),
            kinds=kinds,
            found=example("found", units),
        ),
    )


def walked(line: ProbeLine, length: Quantity | None) -> tuple[Quantity, Quantity]:
    """From where to where the line says that somebody probed.

    Args:
        line: as read.
        length: of the seam, where it is known.

    Raises:
        Missing: nothing says how far, and the seam's length is not known.
        WordUnknown: a gap that nobody said was probed.
    """
    if line.whole or not line.sound:
        if length is None:
            raise Missing(name=_("how far you probed"), option=_("it"), example=_("sound to 33"))
        return _zero(length), length
    parts = [(start or _zero(end), end) for start, end in line.sound]
    places = [(one.at, one.past()) for one in line.found]
    low, high = min(parts[0], key=_m), max(parts[0], key=_m)
    if len(parts) == 1 and all(_m(low) <= _m(p) <= _m(high) for pair in places for p in pair):
        return parts[0]
    return _joined([*parts, *places])


def _joined(pairs: list[tuple[Quantity, Quantity]]) -> tuple[Quantity, Quantity]:
    """From the first to the last of stretches that leave no gap between them."""
    spans = sorted(((min(p, key=_m), max(p, key=_m)) for p in pairs), key=lambda span: _m(span[0]))
    first, last = spans[0]
    for start, end in spans[1:]:
        if _m(start) > _m(last):
            a, b = quantity_text(last), quantity_text(start)
            raise WordUnknown(
                text=f"{a} … {b}",
                allowed=_(
                    "what lies between, like: sound {a} to {b}; or one walk a line", a=a, b=b
                ),
            )
        last = max(last, end, key=_m)
    return first, last


def _zero(like: Quantity) -> Quantity:
    return Quantity(text="0", number=Fraction(0), unit=like.unit)


def _m(place: Quantity) -> Fraction:
    return place.to("m")


def _again(place: Quantity) -> str:
    return feet_inches_word(quantity_text(place))


def typed_again(line: ProbeLine) -> str:
    """The line in full words: read again, it says the same."""
    parts = ["sound"] if line.whole else []
    parts += [
        f"sound {_again(start)} to {_again(end)}" if start else f"sound to {_again(end)}"
        for start, end in line.sound
    ]
    for found in line.found:
        text = f"{found.kind} at {_again(found.at)}"
        text += f" to {_again(found.end)}" if found.end else ""
        text += f", {quantity_text(found.length)} long" if found.length else ""
        parts.append(text + (f", {quantity_text(found.depth)} deep" if found.depth else ""))
    times = " to ".join(t for t in (line.started, line.ended) if t)
    parts += [times] if times else []
    parts += [f"note {line.note}"] if line.note is not None else []
    return ", ".join(parts)
