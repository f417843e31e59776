"""The limits of a job, those of the go-ahead's rules among them: in force when, from which source.

Invariant: nothing here is changed later in place; a limit set again is a new
entry from then on, and work is judged by the limits in force when it was done. A rule's
number and its source are the program's until the job adopts its own.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from fractions import Fraction
from functools import cache, partial
from typing import TYPE_CHECKING

from msgspec.structs import replace

from weldcal.book.kept import JobCache
from weldcal.quality.goahead import Acceptance
from weldcal.quantities import Quantity
from weldcal.records.limits import DEFAULTS, Default, Limit
from weldcal.row_types.listed import LimitRow
from weldcal.rules.on_seam import Tolerances
from weldcal.tables.columns import utc
from weldcal.words import mark

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.quality.go_ahead_rules import Rule


# Unit of a rule -> field its number is read as, and the unit it is kept in.
READ_AS = {
    "h": ("hours", "h"),
    "min": ("minutes", "min"),
    "K": ("difference", "degC"),
    "m/s": ("wind", "m/s"),
    "%": ("share", "%"),
    "C": ("ambient", "C"),
}
_MEANS = {
    "look": mark("from here somebody looks: a bleed check"),
    "strip_again": mark("from here the go-ahead is void: strip again"),
    "wait": mark("from here nobody welds: wait"),
}
_BEFORE = {"look": "look", "strip_again": "strip", "wait": "wait"}


class Limits:
    """The job's limits in force at a time, and the acceptance they make."""

    def __init__(self, reader: JobReader) -> None:
        self._reader = reader
        self._changes: JobCache[list[str]] = JobCache(reader)
        self._accepted: JobCache[Acceptance] = JobCache(reader)

    def rules(self, of: tuple[Rule, ...] | None = None) -> tuple[Rule, ...]:
        """The go-ahead's rules with the job's own numbers where it adopted some.

        Args:
            of: those asked about; those of a go-ahead, where not given.
        """
        from weldcal.quality.go_ahead_rules import RULES  # most recordings ask no limit

        limits = self.limits()
        rules = []
        for rule in RULES if of is None else of:
            limit = limits.get(rule_name(rule))
            if rule.threshold is None or limit is None or limit.adopted_by is None:
                rules.append(rule)
            else:
                value = limit.value.si(READ_AS[rule.unit][1])
                rules.append(replace(rule, threshold=value, source=limit.source))
        return tuple(rules)

    def limits(
        self, at_utc: str | None = None, of: dict[str, Default] | None = None
    ) -> dict[str, Limit]:
        """The limits in force by name, defaults where none was adopted.

        Args:
            at_utc: the time asked about, UTC; now, where not given.
            of: those asked about; all, where not given, the numbers of the rules among them.
        """
        at_utc = at_utc or utc(self._reader.clock().isoformat())
        found = {
            name: Limit(name=name, value=default.value, source=default.source)
            for name, default in (of or limit_defaults()).items()
        }
        rows = self._reader.of_job(
            LimitRow, "AND from_utc <= ? ORDER BY from_utc, tick, device", at_utc
        )
        for row in rows:
            if row["name"] not in found:  # not asked about, or a newer program's
                continue
            value = Quantity(text=row["text"], number=Fraction(row["number"]), unit=row["unit"])
            found[row["name"]] = Limit(
                name=row["name"], value=value, source=row["source"], adopted_by=row["adopted_by"]
            )
        return found

    def tolerances(self) -> Tolerances:
        """How near two places along a lap count as one, m, and counted as one at any time."""
        changed = list(dict.fromkeys(self._changes.get("limits", self._changed_at)))
        when = ["0", *changed]
        return Tolerances(tuple(changed), tuple(self.acceptance("", at).slack_m for at in when))

    def acceptance(self, sheet: str, at_utc: str | None = None) -> Acceptance:
        """The limits in force for one sheet, as numbers.

        Args:
            sheet: its name; of none that is listed, bleed-out judges.
            at_utc: the time asked about, UTC; now, where not given.
        """
        at_utc = at_utc or utc(self._reader.clock().isoformat())
        key = self.period(at_utc), sheet
        return self._accepted.get(key, lambda: self._acceptance(sheet, at_utc))

    def period(self, at_utc: str) -> int:
        """How many limits had been adopted by a time: where that is the same, so are the limits.

        Args:
            at_utc: the time asked about, UTC.
        """
        return self.periods()(at_utc)

    def periods(self) -> Callable[[str], int]:
        """`period` for many times: what changed when is looked up once."""
        return partial(bisect_right, self._changes.get("limits", self._changed_at))

    def cooling(self) -> Callable[[str | None], str | None]:
        """`cold_from` for many laps: how long one cooled by when is looked up once."""
        from weldcal.rules.cold import cold_from  # a strip is recorded without

        when = ["0", *self._changes.get("limits", self._changed_at)]
        minutes = [self.acceptance("", at).cool_before_probe_min for at in when]
        period = self.periods()

        def cold(welded_utc: str | None) -> str | None:
            return cold_from(welded_utc, minutes[period(welded_utc)]) if welded_utc else None

        return cold

    def cold_from(self, welded_utc: str | None) -> str | None:
        """From when a lap counts as cold, UTC; None where nobody said when it was finished.

        Args:
            welded_utc: when the run was finished, or the mend made, UTC.
        """
        return self.cooling()(welded_utc)

    def needs_readings(self, sheet: str) -> bool:
        """Whether a strip is judged by its bleed-out, so that readings must be there.

        Args:
            sheet: the strip's.
        """
        return self.acceptance(sheet).by_bleed_out

    def _changed_at(self) -> list[str]:
        """When the job's limits changed, UTC, in order."""
        return self._reader.each_of(str, "from_utc", "limits", "ORDER BY from_utc")

    def _acceptance(self, sheet: str, at_utc: str) -> Acceptance:
        limits = self.limits(at_utc, DEFAULTS)
        judged = self._reader.each_of(str, "judged_by", "sheets", "AND name = ?", sheet)
        return Acceptance(
            low_mm=limits["bleed_low"].value.si("mm"),
            aim_mm=limits["bleed_aim"].value.si("mm"),
            high_mm=limits["bleed_high"].value.si("mm"),
            guard_mm=limits["reading_guard"].value.si("mm"),
            spread_mm=limits["readings_spread"].value.si("mm"),
            readings_least=int(limits["readings_least"].value.number),
            trace_passes=bool(limits["trace_passes"].value.number),
            by_bleed_out=not judged or judged[0] == "bleed-out",
            bonded_least_mm=limits["bonded_least"].value.si("mm"),
            cool_least_min=limits["cool_least"].value.si("min"),
            lap_least_side_mm=limits["lap_least_side"].value.si("mm"),
            lap_least_end_mm=limits["lap_least_end"].value.si("mm"),
            cool_before_probe_min=limits["cool_before_probe"].value.si("min"),
            slack_m=limits["site_tolerance"].value.si("m"),
        )


@cache
def limit_defaults() -> dict[str, Default]:
    """All limits with their defaults: acceptance, and the rules of the go-ahead."""
    return {**DEFAULTS, **rule_defaults()}


def rule_name(rule: Rule) -> str:
    """The name of the limit that holds a rule's number.

    Args:
        rule: the rule.
    """
    return f"{_BEFORE[rule.level]}_{rule.code}"


@cache
def rule_defaults() -> dict[str, Default]:
    """Limits for the rules' numbers, with the program's defaults and their sources."""
    from weldcal.quality.go_ahead_rules import RULES, STOPS  # most recordings ask no limit

    defaults = {}
    for rule in (*RULES, *STOPS):
        if rule.threshold is None:
            continue
        field, unit = READ_AS[rule.unit]
        value = Quantity(
            text=f"{rule.threshold:g}", number=Fraction(repr(rule.threshold)), unit=unit
        )
        defaults[rule_name(rule)] = Default(field, value, rule.source, _MEANS[rule.level])
    return defaults
