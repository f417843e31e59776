"""Dialling in: the job's strips handed to the computation, its answer kept.

Invariant: the computation gets plain SI values and gives plain SI values; what
went in, what came out and by which version is recorded. numpy and its kin are
imported here only, inside the verbs that need them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING, cast

from weldcal.book.core import Service
from weldcal.json_values import JsonObject, JsonValue
from weldcal.records.common import Seen
from weldcal.records.notes import AdviceGiven
from weldcal.views.dialled import Asked, Dialled

if TYPE_CHECKING:
    from weldcal.book.dialling import Dialling
    from weldcal.book.job_reader import JobReader
    from weldcal.book.recording.transactions import Transactions
    from weldcal.calibration import Advice


class AdviceRecorder(Service):
    """Records advice given."""

    _reader: JobReader
    _transactions: Transactions
    _dialling: Dialling

    def dial(self, asked: Asked, by: str | None = None) -> Dialled:
        """Advise the travel speed, and record the advice.

        Args:
            asked: the question.
            by: who; who is typing, where not given.
        """
        advice = self._dialling.advise(asked)
        return Dialled(asked, advice, self._keep(asked, advice, by))

    def _keep(self, asked: Asked, advice: Advice, by: str | None) -> bool:
        """Record advice given; advice is still shown where the book cannot be written."""
        from weldcal import __version__
        from weldcal.errors import BookTrouble

        who = self._reader.unnamed(by)
        question = _texts(dataclasses.asdict(asked.question))
        if asked.rests is not None:
            question["firm"] = _texts(dataclasses.asdict(asked.rests))
        record = AdviceGiven(
            seen=Seen(at=asked.at, by=who),
            question=question,
            answer=_texts(dataclasses.asdict(advice)),
            version=__version__,
        )
        try:
            with self._transactions.writing(who) as writer:
                writer.add("advice", record)
        except BookTrouble:
            return False
        return True


def _texts(values: Mapping[str, object]) -> JsonObject:
    """What was asked or answered as a payload: without what is None, floats as texts."""
    return {name: _text(part) for name, part in values.items() if part is not None}


def _text(value: object) -> JsonValue:
    """Floats as their shortest round-trip decimals: payloads hold no floats."""
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, dict):
        return _texts(value)
    if isinstance(value, list | tuple):
        return [_text(part) for part in value]
    return cast("JsonValue", value)  # the fields of both are JSON but for their floats
