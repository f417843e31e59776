"""What to do with the speed advised: what waits, what stands, what was said before.

Invariant: each question is asked of the verb that answers it; nothing is judged here.
"""

from __future__ import annotations

import contextlib
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_SEEN, NEWEST
from weldcal.book.strips import setting_of
from weldcal.book.trials import machine_out
from weldcal.errors import Misplaced, NoneYet, Unheard
from weldcal.quality.go_ahead_rules import LOOK, WAIT, permits
from weldcal.quality.goahead import waits_for_pull
from weldcal.records.advice_given import answer_of, question_of
from weldcal.records.fields import same_name
from weldcal.records.times import seconds, stamp, zone
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import AdviceRow
from weldcal.tables.columns import utc
from weldcal.views.dialled import Asked, Dialled, First, Stands, Then, pressing
from weldcal.views.go_ahead import GoAhead

if TYPE_CHECKING:
    from weldcal.book.advised import Advising
    from weldcal.book.dialling import Dialling
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.standing import GoAheads
    from weldcal.book.strips import Strips
    from weldcal.book.sunlit import Sunlit
    from weldcal.views.rows import TriedStrip


class Answering(Service):
    """The answer in three lines: the speed, how sure, the one thing to do."""

    _reader: JobReader
    _advising: Advising
    _dialling: Dialling
    _go_aheads: GoAheads
    _limits: Limits
    _strips: Strips
    _sunlit: Sunlit

    def then(
        self, dialled: Dialled, given: dict[str, float] | None = None, was: float | None = None
    ) -> Then:
        """What to do with the advice for a question.

        To be asked after it is recorded: how long a reading of the sheet holds is that of the
        newest advice, and the first answer of a day is to say the same as the second.

        Args:
            dialled: question and advice.
            given: conditions given with the question, in SI by column.
            was: the speed advised before, m/min.
        """
        asked = dialled.asked
        q = asked.question
        stands = self._stands(asked)
        read_at = None
        if not (given and "sheet_c" in given):
            read_at = self._old_reading(asked)
            old = stands is not None and stands.only_old
            if read_at is None and (old or _moved_by_age(dialled, stands)):
                read_at = asked.carried.get("sheet_c") or asked.carried.get("ambient_c")
        names = (("machines", q.machine), ("sheets", q.sheet))
        return Then(
            kind=tuple(name for table, name in names if len(self._reader.names_in(table)) > 1),
            waits=self._go_aheads.waits(asked.at, given=given),
            read_at=read_at,
            pull=next(iter(self.to_pull(q.day, q.machine, q.sheet, q.lap)), None),
            stands=stands,
            was=was,
            out=self._without_cause(q.machine, asked.at),
        )

    def first(self, go_ahead: GoAhead) -> First:
        """What comes first by a go-ahead, as the advice for its kind says it; nothing is recorded.

        A hand strip's is its own rules alone.

        Args:
            go_ahead: how one stands.
        """
        asked = None if go_ahead.strip["by_hand"] else self._asked_for(go_ahead.strip)
        if asked is None or go_ahead.level == WAIT:
            return First()
        if not permits(go_ahead.level):
            dialled = Dialled(asked, self._dialling.advise(asked), recorded=True)
            q = asked.question
            stopped = dialled.advice.forecast is None
            pull = () if stopped else self.to_pull(q.day, q.machine, q.sheet, q.lap)
            return First(pull, trial=dialled)
        if asked.question.hour_sheet_read is None:
            return First()
        dialled = Dialled(asked, self._dialling.advise(asked), recorded=True)
        return First(read=pressing(dialled, self.then(dialled)) == "read")

    def _asked_for(self, strip: TriedStrip) -> Asked | None:
        """The question now for what a strip is of; None where that is no longer listed."""
        with contextlib.suppress(Misplaced, Unheard):
            return self._dialling.ask(
                machine=strip["machine"], sheet=strip["sheet"], lap=strip["lap"]
            )
        return None

    def _without_cause(self, machine: str, at: str) -> bool:
        """Whether a machine is taken out at a time, and no cause is named."""
        out = machine_out(self._reader, self._limits, self._strips, machine, utc(at))
        return out is not None and out.left is None

    def to_pull(
        self, day: str, machine: str | None = None, sheet: str | None = None, lap: str | None = None
    ) -> tuple[str, ...]:
        """Strips of a day that lack nothing but their pull, in order.

        Args:
            day: the job's local day, ISO.
            machine, sheet, lap: only strips of these, where given.
        """
        rows = self._reader.of_job(
            StripRow,
            "AND day = ?2 AND NOT by_hand AND (?3 IS NULL OR machine = ?3) "
            f"AND (?4 IS NULL OR sheet = ?4) AND (?5 IS NULL OR lap = ?5) {AS_SEEN}",
            day,
            machine,
            sheet,
            lap,
        )
        judged = self._strips.judged(rows)
        return tuple(s["name"] for s in judged if waits_for_pull(s["shortfalls"], by_hand=False))

    def fell_short(
        self, day: str, machine: str | None, sheet: str | None, lap: str | None, hand: str | None
    ) -> TriedStrip | None:
        """The newest strip of a day, where it is no go-ahead.

        Args:
            day: the job's local day, ISO.
            machine, sheet, lap: what it is of, where given.
            hand: of this person's hand strips, instead of a machine's.
        """
        rows = self._reader.of_job(
            StripRow,
            "AND day = ?2 AND (?3 IS NULL OR machine = ?3) AND (?4 IS NULL OR sheet = ?4) "
            "AND (?5 IS NULL OR lap = ?5) AND by_hand = (?6 IS NOT NULL) "
            f"AND (?6 IS NULL OR seen_by = ?6) {NEWEST} LIMIT 1",
            day,
            machine,
            sheet,
            lap,
            hand,
        )
        return next((row for row in self._strips.judged(rows) if row["shortfalls"]), None)

    def good_until(self, go_ahead: GoAhead, now: str) -> str | None:
        """When somebody has to look again for no more than that time went by, ISO 8601.

        The earlier of the rules on the hours since the strip and on the age of the reading;
        weather, power and stops may call sooner.

        Args:
            go_ahead: the go-ahead.
            now: the time asked about.

        Returns:
            None where no rule speaks of time.
        """
        since = {
            "hours_passed": seconds(go_ahead.strip["seen_local"]),
            "reading_age": self._sunlit.sheet_read_s(now, None),
        }
        ends = [
            start + 3600 * rule.threshold
            for rule in self._go_aheads.rules()
            if rule.level == LOOK and rule.threshold and (start := since.get(rule.code)) is not None
        ]
        holds_h = self._sunlit.reading_holds_h(go_ahead.strip, now, None, self._go_aheads.rules())
        if holds_h is not None and (read_s := since["reading_age"]) is not None:
            ends.append(read_s + 3600 * holds_h)
        if not ends:
            return None
        return stamp(datetime.fromtimestamp(min(ends), UTC).astimezone(zone(self._reader.job.zone)))

    def _stands(self, asked: Asked) -> Stands | None:
        q = asked.question
        try:
            go_ahead = self._go_aheads.go_ahead_stands(q.machine, q.sheet, q.lap, asked.at)
        except NoneYet:
            return None
        if go_ahead.strip["day"] != q.day:
            return None
        setting = setting_of(go_ahead.strip)
        return Stands(
            name=go_ahead.strip["name"],
            level=go_ahead.level,
            speed=setting.speed,
            nozzle=setting.nozzle,
            mark=_on_dial(go_ahead.strip, asked),
            until=self.good_until(go_ahead, asked.at) if permits(go_ahead.level) else None,
            only_old=go_ahead.only_old,
        )

    def _old_reading(self, asked: Asked) -> str | None:
        """When the sheet (the air, where nobody reads the sheet) was read, if that is too long ago."""
        read_at = asked.carried.get("sheet_c") or asked.carried.get("ambient_c")
        if asked.question.sheet_c is not None and "sheet_c" not in asked.carried:
            return None
        if (
            read_at is None
            or seconds(asked.at) - seconds(read_at) <= 3600 * self._advising.reading_counts_h()
        ):
            return None
        return read_at

    def last_advised(self, asked: Asked) -> float | None:
        """The speed that was advised last today for this machine, sheet and lap kind, m/min.

        To be asked before the answer to this question is recorded.

        Args:
            asked: the question.
        """
        q = asked.question
        rows = self._reader.of_job(
            AdviceRow, "AND day = ? ORDER BY tick DESC, device DESC LIMIT 20", q.day
        )
        for row in rows:
            then = question_of(row["question"])
            same = ((then.machine, q.machine), (then.sheet, q.sheet), (then.lap, q.lap))
            if all(same_name(one) == same_name(other) for one, other in same):
                forecast = answer_of(row["answer"]).forecast
                return forecast.speed_m_per_min if forecast else None
        return None


def _moved_by_age(dialled: Dialled, stands: Stands | None) -> bool:
    """Whether another speed than the go-ahead's would be another yet by a fresh reading, or the
    age of the reading alone leaves the advice unsure: what a look at the sheet may settle, no
    strip is made for."""
    advice, mark = dialled.advice, dialled.asked.dial.mark
    if advice.as_read is None or advice.forecast is None:
        return False
    if not advice.sure and (advice.as_read.sure or "sheet_read_long_ago" in advice.doubts):
        return True
    if stands is None or stands.mark is None or not permits(stands.level):
        return False
    as_read, now = (mark(one.speed_m_per_min) for one in (advice.as_read, advice.forecast))
    return now not in (as_read, stands.mark)


def _on_dial(strip: StripRow, asked: Asked) -> float | None:
    """A strip's speed as the dial shows it; None where the dial shows another thing."""
    if strip["dial_mark"] is not None:
        return strip["dial_mark"]
    speed = strip["true_speed_m_per_min"] or strip["speed_m_per_min"]
    if speed is None:
        return None
    with contextlib.suppress(ValueError, KeyError):
        return asked.dial.mark(speed)
    return None
