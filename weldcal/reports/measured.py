"""A machine's measurements in words: whether dial and nozzle still tell what is so.

Invariant: what it is judged by, and where that comes from, stands below the verdict.
"""

from __future__ import annotations

from weldcal.json_values import JsonObject
from weldcal.quality import measure
from weldcal.reports import show
from weldcal.views.measured import Drifted, Heats
from weldcal.views.rows import MarkedMeasure
from weldcal.words import _, number


def page(drifted: Drifted, heats: Heats, units: str) -> list[str]:
    """A machine's measurements and what they say."""
    drift = drifted.drift
    lines = [_measured(row, check, units) for row, check in drifted.speeds]
    state = {
        None: _("No measurement can be compared yet."),
        "within": _("WITHIN: the dial holds."),
        "drifted": _("DRIFTED: the dial no longer tells the speed."),
        "cannot_tell": _cannot_tell(drifted, units),
    }[drift.state]
    lines.append(state)
    if drift.state == "drifted" and drift.ratio:
        lines += _drifted(drift, drifted.affected)
    lines += [_nozzle_measured(row, check, units) for row, check in heats]
    if drifted.speeds or heats:
        heat = measure.HEAT_TOLERANCE_K * (9 / 5 if units == "us" else 1)
        lines.append(
            _(
                "Judged by ±{share:g} % of speed and ±{heat:g} °{unit} of nozzle heat: {source}.",
                share=100 * measure.SPEED_TOLERANCE,
                heat=heat,
                unit="F" if units == "us" else "C",
                source=_(measure.TOLERANCE_SOURCE),
            )
        )
    return lines


def _measured(row: MarkedMeasure, check: measure.SpeedCheck, units: str) -> str:
    """One measurement against what was believed of its mark."""
    if check.ratio is None or check.low is None or check.high is None:
        ratio = _("nothing was believed of this mark")
    else:
        ratio = _(
            "{moved:+.1f} % against the dial ({low:+.1f} to {high:+.1f})",
            moved=100 * (check.ratio - 1),
            low=100 * (check.low - 1),
            high=100 * (check.high - 1),
        )
    return f"- {show.clock(row['seen_local'])} {number(check.mark, 'g')}: {show.speed(check.speed_m_per_min, units, 2)}, {ratio}; {show.safe(row['seen_by'])}"


def _cannot_tell(drifted: Drifted, units: str) -> str:
    """What would tell: a longer distance, or more runs where the last one was long enough."""
    needed, measured = (
        drifted.drift.measure_over_m,
        [row["distance_m"] for row, _c in drifted.speeds],
    )
    if needed is not None and measured and (measured[-1] or 0.0) >= needed:
        return _("CANNOT TELL: measure again over that distance, with more runs, at least three.")
    return _(
        "CANNOT TELL: measure over a longer distance, at least {distance}, three runs of it.",
        distance=show.distance(needed, units),
    )


def _drifted(drift: measure.Drift, affected: tuple[str, ...]) -> list[str]:
    """What a drifted dial means for what is welded next and was welded before."""
    return [
        _(
            "A mark runs at {r:.2f} of its speed. Advice reckons with that already: set the mark it says.",
            r=drift.ratio,
        ),
        _(
            "Seams welded since the last good check ran at {low:.0f} to {high:.0f} % of the speed recorded: {seams}.",
            low=100 * drift.seams_low,
            high=100 * drift.seams_high,
            seams=show.listed(list(affected)),
        ),
    ]


def _nozzle_measured(row: MarkedMeasure, check: measure.HeatCheck, units: str) -> str:
    """A nozzle's air as measured, against what was set."""
    verdict = {
        "within": _("within what a thermometer tells"),
        "drifted": _("OFF: advice reckons with it"),
        "cannot_tell": _("cannot tell; advice reckons with it"),
    }[check.state]
    return _(
        "- {at} nozzle set to {set}, measured {measured}: {offset:+.0f} °; {verdict}",
        at=show.clock(row["seen_local"]),
        set=show.temperature(row["nozzle_set_c"], units),
        measured=show.temperature(row["nozzle_measured_c"], units),
        offset=check.offset_k * (9 / 5 if units == "us" else 1),
        verdict=verdict,
    )


def document(drifted: Drifted, heats: Heats) -> JsonObject:
    """A machine's measurements as JSON: SI units, times on the job's clock."""
    drift = drifted.drift
    return {
        "checks": [
            {
                "seen_local": row["seen_local"],
                "mark": check.mark,
                "speed_m_per_min": check.speed_m_per_min,
                "ratio": check.ratio,
                "ratio_low": check.low,
                "ratio_high": check.high,
                "state": check.state,
                "runs": check.runs,
            }
            for row, check in drifted.speeds
        ],
        "state": drift.state,
        "ratio": drift.ratio,
        "seams_ratio_low": drift.seams_low,
        "seams_ratio_high": drift.seams_high,
        "seams": list(drifted.affected),
        "measure_over_m": drift.measure_over_m,
        "speed_tolerance": measure.SPEED_TOLERANCE,
        "nozzle_tolerance_k": measure.HEAT_TOLERANCE_K,
        "tolerance_source": measure.TOLERANCE_SOURCE,
        "nozzle": [
            {
                "seen_local": row["seen_local"],
                "set_c": row["nozzle_set_c"],
                "measured_c": row["nozzle_measured_c"],
                "offset_k": check.offset_k,
                "state": check.state,
            }
            for row, check in heats
        ],
    }
