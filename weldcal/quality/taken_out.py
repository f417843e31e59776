"""Is a machine taken out after strips that failed in a row.

Invariant: a machine is taken out by failures at settings that should have passed, never by
strips that look for the limits of a sheet; only a cause that somebody named, and strips that
pass after it, bring it back.

After the City of Nashua, New Hampshire, geomembrane specification, 3.5 Trial seam testing
(borrowed): where a second trial seam fails too, machine and operator weld no more until the
deficiency is corrected and two trial seams in a row have passed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from weldcal.quality.goahead import Tried, failed, near_setting


class Trial(Struct, frozen=True):
    """A strip of one machine.

    Attributes:
        at_s: when it was made, seconds since any epoch.
        name: its short name.
        tried: its setting and what it fell short of.
        advised: whether it was made at a setting that was advised as sure.
    """

    at_s: float
    name: str
    tried: Tried
    advised: bool = False


class TakenOut(Struct, frozen=True):
    """A machine taken out.

    Attributes:
        since_s: when the strip was made that took it out.
        strips: the names of those that failed in a row.
        cause_named: whether somebody named a cause since.
        passed: how many strips have passed in a row since then.
        failed_s: when the last strip failed: a cause named before that was not the one.
        wanted: how many must pass in a row.
    """

    since_s: float
    strips: tuple[str, ...]
    failed_s: float
    wanted: int
    cause_named: bool = False
    passed: int = 0

    @property
    def left(self) -> int | None:
        """How many strips must still pass; None where the cause is not named yet."""
        return self.wanted - self.passed if self.cause_named else None


def taken_out(
    trials: Sequence[Trial], causes_s: Iterable[float], failures: int = 2, passes: int = 2
) -> TakenOut | None:
    """Whether a machine is taken out, after all its strips and the causes named.

    Args:
        trials: its strips, in the order seen.
        causes_s: when a cause was named, seconds since the same epoch.
        failures: how many failed strips in a row take it out; 0 is never.
        passes: how many strips in a row bring it back, once a cause is named.
    """
    causes = sorted(causes_s)
    out: TakenOut | None = None
    row: list[Trial] = []
    for trial in trials:
        out = _named(out, causes, trial.at_s)
        if out is not None:
            out = _after(out, trial)
            continue
        row = _in_a_row(row, trial)
        if failures and len(row) >= failures:
            out, row = TakenOut(trial.at_s, tuple(one.name for one in row), trial.at_s, passes), []
    return _named(out, causes, float("inf"))


def _in_a_row(row: list[Trial], trial: Trial) -> list[Trial]:
    """The failures in a row up to and with a strip: the same setting again, or advised ones."""
    if not failed(trial.tried):
        return [] if not trial.tried.short else row  # one not pulled yet says nothing
    if row and not (
        near_setting(trial.tried, row[-1].tried) or (trial.advised and row[-1].advised)
    ):
        row = []
    return [*row, trial]


def _named(out: TakenOut | None, causes: Sequence[float], until_s: float) -> TakenOut | None:
    """The state once the causes named by a time are counted."""
    if out is None or out.cause_named:
        return out
    named = any(out.failed_s <= cause <= until_s for cause in causes)
    return replace(out, cause_named=named)


def _after(out: TakenOut, trial: Trial) -> TakenOut | None:
    """The state after one more strip; None where it is back."""
    if failed(trial.tried):
        return replace(out, failed_s=trial.at_s, cause_named=False, passed=0)
    if trial.tried.short or not out.cause_named:
        return out
    if out.passed + 1 >= out.wanted:
        return None
    return replace(out, passed=out.passed + 1)
