"""Times as people type them, on the job's own clock.

Invariant: a recorded time is ISO 8601 with the job's UTC offset at that moment.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from weldcal.errors import ClockOff, NotAChoice, NotATime, SkippedTime
from weldcal.words import _

# With a point or the hour alone only beside am or pm: 7.15 by itself may be any number.
# Compiled by their first use: most records are of now, and name no time.
_SPOKEN = r"(?i)(\d{1,2})(?:[.](\d{2}))?\s*([ap])\.?m\.?"
_CLOCK = r"(?i)(\d{1,2}):(\d{2})(?::(\d{2}))?\s*([ap]\.?m\.?)?"
_DATED = r"(\d{4}-\d{2}-\d{2})[T\s]+(\S.*)"
_YESTERDAY = r"(?i)(?:yesterday|ayer)\s+(\S.*)"
_FIRST, _END = datetime(1970, 1, 1, tzinfo=UTC), datetime(2201, 1, 1, tzinfo=UTC)


def zone(name: str) -> ZoneInfo:
    """The time zone of that IANA name.

    Raises:
        NotAChoice: there is none.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise NotAChoice(
            name=_("time zone"),
            text=name,
            allowed=_("IANA names like America/Denver, Europe/Madrid"),
        ) from None


def zone_name(text: str) -> str:
    """The IANA name meant: as typed, or that of the only zone named after this city (`Denver`).

    Raises:
        NotAChoice: none, or several of that name.
    """
    try:
        return zone(text.strip()).key
    except NotAChoice:
        from zoneinfo import available_timezones

        city = "_".join(text.split()).casefold()
        named = [
            n for n in sorted(available_timezones()) if n.casefold().rpartition("/")[2] == city
        ]
        if len(named) == 1:
            return named[0]
        if named:
            raise NotAChoice(name=_("time zone"), text=text, allowed=", ".join(named)) from None
        raise


def read_time(text: str, now: datetime, label: str) -> datetime:
    """Read `07:15`, `7:15 pm`, `11.30am`, any of them after a date or yesterday, or ISO 8601.

    Args:
        text: as typed.
        now: the present, in the job's zone; a bare time is of its date.
        label: what it is, for the message.

    Raises:
        NotATime: it cannot be read.
        SkippedTime: clocks were set forward over it.
    """
    word = text.strip()
    date = now
    try:
        if before := re.fullmatch(_YESTERDAY, word):
            date, word = now - timedelta(days=1), before[1]
        elif (dated := re.fullmatch(_DATED, word)) and _of_day(dated[2], now):
            day = datetime.fromisoformat(dated[1])
            date, word = day.replace(tzinfo=now.tzinfo), dated[2]
        clock = _of_day(word, date)
        moment = _nearer(clock, now) if clock else datetime.fromisoformat(word)
    except ValueError:
        raise NotATime(name=label, text=text) from None
    if not 1970 <= moment.year <= 2200:
        raise NotATime(name=label, text=text)
    if moment.tzinfo is not None and moment.tzinfo is not now.tzinfo:
        return moment.astimezone(now.tzinfo)
    local = moment.replace(tzinfo=now.tzinfo)
    if _skipped(local):
        raise _skip(local, text, label)
    return local


def read_beside(text: str, then: str, zone_name: str, label: str) -> datetime:
    """Read a time typed beside a recorded one: of its date, on the clock of a time zone.

    Args:
        text: as typed.
        then: the recorded one.
        zone_name: IANA name; the offset of `then` alone would not know when clocks are set.
        label: what it is, for the message.

    Raises:
        NotATime, SkippedTime: as `read_time`.
    """
    return read_time(text, datetime.fromisoformat(then).astimezone(zone(zone_name)), label)


def _skipped(moment: datetime) -> bool:
    """Whether no clock of its zone shows a time: they are set forward over it."""
    shown = moment.astimezone(UTC).astimezone(moment.tzinfo)
    return shown.replace(tzinfo=None) != moment.replace(tzinfo=None)


def _skip(moment: datetime, text: str, label: str) -> SkippedTime:
    """The refusal of a time that was skipped: between which times, and what it may have been."""
    minute = timedelta(minutes=1)
    first = moment.replace(second=0, microsecond=0)
    while _skipped(first - minute):
        first -= minute
    then, come = (at.astimezone(UTC).astimezone(at.tzinfo) for at in (moment, first))
    clocks = {"gone": first, "come": come, "then": then}
    shown = {which: f"{at.hour}:{at:%M}" for which, at in clocks.items()}
    return SkippedTime(name=label, text=text, day=moment.date().isoformat(), **shown)


def _nearer(found: datetime, now: datetime) -> datetime:
    """Of the two hours when clocks are set back, the second where it is not still to come."""
    again = found.replace(fold=1)
    twice = again.utcoffset() != found.utcoffset()
    return again if twice and found.timestamp() < again.timestamp() <= now.timestamp() else found


def _of_day(word: str, date: datetime) -> datetime | None:
    """A time of the day, as `7:15` or `11.30am`, on a date; None where it is written otherwise.

    Raises:
        ValueError: no clock shows it.
    """
    spoken = re.fullmatch(_SPOKEN, word)
    if spoken:
        word = f"{spoken[1]}:{spoken[2] or '00'} {spoken[3]}m"
    clock = re.fullmatch(_CLOCK, word)
    if clock is None:
        return None
    hour, minute, second = int(clock[1]), int(clock[2]), int(clock[3] or 0)
    if clock[4]:
        if not 1 <= hour <= 12:
            raise ValueError
        hour = hour % 12 + (12 if clock[4].lower().startswith("p") else 0)
    return date.replace(hour=hour, minute=minute, second=second, microsecond=0, fold=0)


@lru_cache(maxsize=64)  # one record's times are mostly the next one's
def check_time(at: str) -> datetime:
    """A recorded time; refuse what is none: ISO 8601 with offset, in 1970 to 2200.

    Raises:
        ValueError: says why.
    """
    moment = datetime.fromisoformat(at)
    if moment.tzinfo is None:
        raise ValueError(f"a time without UTC offset: {at}")
    if not _can_be(moment):
        raise ValueError(f"a time that cannot be: {at}")
    return moment


def _can_be(moment: datetime) -> bool:
    """Whether a time is of 1970 to 2200, by its own clock or in UTC.

    A device whose battery died begins at 1970-01-01 in UTC, which is 1969 west of Greenwich.
    """
    return 1970 <= moment.year <= 2200 or _FIRST <= moment < _END


def moment_of(at: str) -> datetime | None:
    """A recorded time; None where the text is not one, as an entry from elsewhere may hold."""
    try:
        return check_time(at)
    except (ValueError, TypeError):
        return None


def present(now: datetime) -> datetime:
    """The present, where it can be recorded.

    Raises:
        ClockOff: this device's clock says a time that cannot be.
    """
    if not _can_be(now):
        raise ClockOff(at=now.isoformat(timespec="minutes"))
    return now


def stamp(moment: datetime) -> str:
    """A moment as it is recorded: ISO 8601 to the second, with offset."""
    return moment.isoformat(timespec="seconds")


def seconds(at: str) -> float:
    """Seconds since the epoch of an ISO 8601 time with its offset.

    Args:
        at: ISO 8601 with its offset.

    Returns:
        seconds.
    """
    return datetime.fromisoformat(at).timestamp()
