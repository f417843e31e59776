"""What was seen before it is typed: `7:40` where it can be nothing else, `at 7:40` anywhere.

Invariant: a time typed is when the thing was seen; the time of typing stays as it is.
"""

from __future__ import annotations

import contextlib
import re
from datetime import datetime

from weldcal.errors import NotATime, Unreadable
from weldcal.flow.question import Question
from weldcal.records.times import read_beside, stamp
from weldcal.words import _, mark


class StillToCome(Unreadable):
    """Something seen at a time that is not yet."""

    sentence = mark(
        "{text!r} is still to come. Type when it was seen, like 7:40, or yesterday 16:00."
    )


_AT = re.compile(
    r"(?:(?P<rest>.*\S)\s+)?(?:at|a las?)\s+(?P<time>\d.*|(?:yesterday|ayer) .*)", re.IGNORECASE
)
_WORDS = ("text", "walk")  # where a time behind other words may be part of what they say
_FREE = ("text", "name", "person")  # where a word like `at` may be part of the answer


def time_and_rest(now: str, zone_name: str, asked: Question, typed: str) -> tuple[str | None, str]:
    """The time among what was typed, as recorded, and the rest; None: no time.

    Args:
        now: the present, as recorded.
        zone_name: IANA name of the job's clock.
        asked: what was asked.
        typed: the answer.

    Raises:
        StillToCome: it is not yet.
        SkippedTime: clocks were set forward over it.
        NotATime: it begins with `at` and can be nothing else.
    """
    text = " ".join(typed.split())
    if asked.kind in ("confirm", "choice") and text:
        with contextlib.suppress(NotATime):
            return _moment(now, zone_name, text), ""
    match = _AT.fullmatch(text)
    if match is None or (match["rest"] and asked.kind in _WORDS):
        return None, typed
    try:
        return _moment(now, zone_name, match["time"]), match["rest"] or ""
    except NotATime:
        if match["rest"] or asked.kind in _FREE:
            return None, typed
        raise


def _moment(now: str, zone_name: str, text: str) -> str:
    moment = read_beside(text, now, zone_name, _("time"))
    if moment > datetime.fromisoformat(now):
        raise StillToCome(text=text)
    return stamp(moment)
