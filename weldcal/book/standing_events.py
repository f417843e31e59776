"""What happened, as the rules on a go-ahead see it: rows and records made events.

Invariant: what was carried over was not read, but for the strip itself: it is all that is known.
"""

from __future__ import annotations

from msgspec.structs import replace

from weldcal.quality.standing import LaterEvent, Weather, WeldSetup
from weldcal.records.common import Conditions, Seen, Setting
from weldcal.records.times import seconds
from weldcal.row_types.columns import ConditionsColumns, SeenColumns
from weldcal.row_types.strips import StripRow
from weldcal.row_types.work import RunRow
from weldcal.tables.columns import si

_NOT_READ = Weather()


def start_event(
    setting: Setting, conditions: Conditions, seen: Seen, day: str, roll_lot: str | None
) -> LaterEvent:
    """A run about to be started, as the rules see it: what was carried over was not read now.

    Args:
        setting: of the machine.
        conditions: as read, and as carried over.
        seen: when it begins, and by whom.
        day: the job's local day of that.
        roll_lot: of the roll to be welded.
    """
    carried = {part.name for part in conditions.carried}
    read = {
        "ambient_c": si(conditions.ambient, "C") if "ambient" not in carried else None,
        "sheet_c": si(conditions.sheet_temp, "C") if "sheet_temp" not in carried else None,
        "wind_m_per_s": si(conditions.wind, "m/s") if "wind" not in carried else None,
        "line_v": si(conditions.line_voltage, "V") if "line_voltage" not in carried else None,
    }
    setup = _setup_of(setting, seen.by, roll_lot)
    return LaterEvent(
        seconds(seen.at), day, "start", run="new", weather=Weather(**read), setup=setup
    )


def _setup_of(setting: Setting, operator: str, roll_lot: str | None) -> WeldSetup:
    speed = setting.speed
    bare = speed is not None and speed.dimension == "mark"
    return WeldSetup(
        machine=setting.machine,
        sheet=setting.sheet,
        lap=setting.lap,
        operator=operator,
        roll_lot=roll_lot,
        nozzle_width_mm=si(setting.nozzle_width, "mm"),
        nozzle_c=setting.nozzle.si("C"),
        speed_m_per_min=None if bare else si(speed, "m/min"),
        dial_mark=float(speed.number) if speed is not None and bare else None,
        air_flow_pct=si(setting.air_flow, "%"),
        roller_load_n=si(setting.roller_load, "N"),
    )


def strip_event(strip: StripRow) -> LaterEvent:
    """The strip itself: what was carried over is all that is known of its weather.

    Args:
        strip: its row.
    """
    weather = Weather(strip["ambient_c"], strip["sheet_c"], strip["wind_m_per_s"], strip["line_v"])
    return replace(event(strip, "strip", weather), setup=_setup(strip))


def run_events(run: RunRow) -> list[LaterEvent]:
    """A run's start and, where it is finished, its finish and the power lost then.

    Args:
        run: its row.
    """
    start = replace(event(run, "start", read_then(run)), run=run["id"], setup=_setup(run))
    if not run["finished_utc"]:
        return [start]
    at = seconds(run["finished_utc"])
    finish = LaterEvent(at, run["day"], "finish", run=run["id"])
    return [
        start,
        finish,
        *([LaterEvent(at, run["day"], "power_lost")] if run["power_lost"] else []),
    ]


def event(row: SeenColumns, kind: str, weather: Weather = _NOT_READ) -> LaterEvent:
    """Something that was seen, as the rules see it.

    Args:
        row: what was seen.
        kind: of `LaterEvent`.
        weather: what was read with it.
    """
    return LaterEvent(seconds(row["seen_local"]), row["day"], kind, weather=weather)


def read_then(row: ConditionsColumns) -> Weather:
    """What was read with a row: what was carried over was not.

    Args:
        row: of a strip, a run, or conditions.
    """
    carried = row["carried"]
    return Weather(
        None if '"ambient"' in carried else row["ambient_c"],
        None if '"sheet_temp"' in carried else row["sheet_c"],
        None if '"wind"' in carried else row["wind_m_per_s"],
        None if '"line_voltage"' in carried else row["line_v"],
    )


def _setup(row: StripRow | RunRow) -> WeldSetup:
    return WeldSetup(
        machine=row["machine"],
        sheet=row["sheet"],
        lap=row["lap"],
        nozzle_width_mm=row["nozzle_width_mm"],
        nozzle_c=row["nozzle_c"],
        speed_m_per_min=row["speed_m_per_min"],
        dial_mark=row["dial_mark"],
        air_flow_pct=row["air_flow_pct"],
        roller_load_n=row["roller_load_n"],
        roll_lot=row["roll_lot"],
        operator=row["seen_by"],
    )
