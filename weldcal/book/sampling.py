"""Samples and charts: how many, where, what they show; bleed checks against the go-ahead.

Invariant: places are drawn by a recorded seed from recorded stretches, so that
anybody can draw them again.
"""

from __future__ import annotations

import math
from statistics import fmean, median
from typing import TYPE_CHECKING, TypedDict

from weldcal.book.core import Service
from weldcal.book.job_reader import AS_SEEN
from weldcal.errors import NoneYet, Unheard
from weldcal.quality import sampling as quality
from weldcal.quality.charts import D2, ewma, individuals
from weldcal.quality.goahead import CLEAN as FAILED
from weldcal.row_types.listed import SheetRow
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import BleedRow, RunRow
from weldcal.views.dossier import BleedChart
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.job_reader import JobReader
    from weldcal.book.limits import Limits
    from weldcal.book.runs import Runs
    from weldcal.book.standing import GoAheads
    from weldcal.book.strips import Strips
    from weldcal.row_types.strips import StripRow
    from weldcal.row_types.work import BleedRow


class _Load(TypedDict):
    n_per_mm: float
    parted: str


class Sampling(Service):
    """Bleed checks charted, and peel loads."""

    _reader: JobReader
    _go_aheads: GoAheads
    _limits: Limits
    _runs: Runs
    _strips: Strips

    def bleed_chart(self, strip_name: str | None = None) -> BleedChart:
        """Chart the bleed checks of the runs that stand on a go-ahead.

        Args:
            strip_name: the go-ahead's; the newest, where not given.

        Raises:
            Unheard: no such go-ahead, or no bleed check on its runs.
        """
        strip = self._go_ahead_row(strip_name)
        rows = self.checks_on_go_aheads().get(strip["id"], [])
        if not rows:
            raise NoneYet(
                what=_("bleed check on the runs of {name}", name=strip["name"]),
                then=_("Make one: weldcal bleed SEAM PLACE READINGS"),
            )
        return self.charted(strip, rows)

    def checks_on_go_aheads(self) -> dict[str, list[BleedRow]]:
        """Bleed checks with readings, by the id of the go-ahead that their run stands on."""
        checks = self._reader.of_job(BleedRow, f"AND readings_n > 0 {AS_SEEN}")
        by_strip: dict[str, list[BleedRow]] = {}
        for check, run in self._runs.with_runs(checks):
            if run and run["go_ahead"]:
                by_strip.setdefault(run["go_ahead"], []).append(check)
        return by_strip

    def _go_ahead_row(self, name: str | None) -> StripRow:
        if name is None:
            return self._go_aheads.go_ahead_stands().strip
        record = self._reader.find(name)
        if record["table"] != "strips":
            raise Unheard(what=_("go-ahead"), text=name, known=_("a strip, like S1"))
        return self._reader.by_id(StripRow, record["id"])

    def charted(self, strip: StripRow, rows: list[BleedRow]) -> BleedChart:
        """Chart bleed checks against the go-ahead that their runs stand on.

        Args:
            strip: the go-ahead's row.
            rows: the checks, in the order seen.
        """
        step = self._limits.limits()["reading_step"].value.si("mm")
        of = max(1, round(fmean(row["readings_n"] for row in rows)))
        read = [(row, m) for row in rows if (m := row["width_median_mm"]) is not None]
        rows, values = [row for row, _mm in read], tuple(mm for _row, mm in read)
        readings = self._strips.readings_of([strip])
        widths = [r["width_mm"] for r in readings.get(strip["id"], [])]
        centre = float(median(widths)) if widths else fmean(values)
        single = individuals(values, centre=centre, step=step / math.sqrt(of))
        # EWMA adds the rounding itself: it gets the spread before that; one check tells none.
        average = None
        if single.moving_range is not None:
            sigma = single.moving_range / D2
            average = ewma(values, centre, sigma, step=step / math.sqrt(of))
        firsts = [single.first_out, average.first_out if average else None]
        first = min((n for n in firsts if n is not None), default=None)
        doubt = self._after_last_good(strip, rows, first) if first is not None else []
        return BleedChart(
            strip,
            rows,
            values,
            single,
            average,
            tuple(dict.fromkeys(doubt)),
        )

    def _after_last_good(self, strip: StripRow, rows: list[BleedRow], first: int) -> list[str]:
        """Seams welded from the last good check before the first point out, in the order of welding."""
        runs = self._reader.of_job(RunRow, f"AND go_ahead = ? {AS_SEEN}", strip["id"])
        place = {run["id"]: n for n, run in enumerate(runs)}
        welded = [place[run["id"]] if run else 0 for _check, run in self._runs.with_runs(rows)]
        bad = welded[first]
        good = max((n for n in welded[:first] if n <= bad), default=0)
        return [run["seam"] for run in runs[good:]]

    def peel_loads(self, least: float | None) -> quality.Loads:
        """What the job's peel samples show.

        Args:
            least: the load that a sample must bear, N/mm.

        Raises:
            Unheard: none has a load.
        """
        rows = self._reader.part(_Load, "peels", "AND n_per_mm IS NOT NULL ORDER BY seen_utc")
        if not rows:
            raise NoneYet(
                what=_("peel sample with a load"), then=_("Cut one: weldcal peel SEAM PLACE --load")
            )
        return quality.loads([r["n_per_mm"] for r in rows], [r["parted"] for r in rows], least)

    def declared_load(self) -> tuple[float, str] | None:
        """The least load that the job's only sheet declares, N/mm, and where; None where not known."""
        rows = self._reader.of_job(SheetRow)
        if len(rows) != 1 or rows[0]["peel_n_per_mm"] is None:
            return None
        return rows[0]["peel_n_per_mm"], rows[0]["peel_source"] or "–"

    def peel_outcomes(self) -> tuple[quality.Spacing, quality.ShareBad | None]:
        """How far to the next sample from a seam, by how the last ones came out; what they show."""
        parted = self._reader.each_of(str, "parted", "peels", f"AND seam IS NOT NULL {AS_SEEN}")
        outcomes = [how != FAILED for how in parted]
        shown = quality.share_bad(outcomes.count(False), len(outcomes)) if outcomes else None
        return quality.next_spacing(outcomes), shown
