"""Columns that rows of several tables share."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict


class NamedColumns(TypedDict):
    """What every row of a subject has.

    Attributes:
        id: of the entry that began it.
        job: id of its job.
        device: id of the device it was entered on; `tick`: orders entries over all devices.
        name: as listed, or its short name like S7; empty where it has none.
    """

    id: str
    job: str
    device: str
    tick: int
    name: str


class SeenColumns(NamedColumns):
    """What every observation's row begins with: when and by whom it was seen and entered.

    Attributes:
        seen_utc: when it was seen; `seen_local`: the same on the job's clock, with its offset.
        day: the job's local day, ISO; it begins at the job's `day_begins`.
        hour: by the job's clock, 0 to 24.
        seen_by: who saw it; `entered_by`: who typed it.
        late_h: hours from seen to entered; below 0 where it was entered ahead of the clock.
        instrument: what it was read with.
        flags: codes of what is odd about it, a JSON list.
    """

    seen_utc: str
    seen_local: str
    day: str
    hour: float
    seen_by: str
    entered_by: str
    entered_utc: str
    late_h: float
    instrument: str | None
    flags: str


class SpeedColumns(TypedDict):
    """What the dial showed, and the nozzle's heat where somebody measured it.

    Attributes:
        nozzle_measured_c: °C.
        speed_m_per_min: as the dial showed it; None where it shows bare marks.
        dial_mark: the bare mark; None where the dial shows a speed.
        speed_text, speed_unit: the speed or mark as it was typed.
    """

    nozzle_measured_c: float | None
    speed_m_per_min: float | None
    dial_mark: float | None
    speed_text: str | None
    speed_unit: str | None


class MoreSettingColumns(TypedDict):
    """The values of a setting that are read now and then.

    Attributes:
        true_speed_m_per_min: as somebody measured it, distance over time.
        roller_load_n: on the pressure roller, N.
        setting_carried: what nobody typed, and when the strip was made that it was taken from;
            a JSON object, None where all was typed.
    """

    true_speed_m_per_min: float | None
    air_flow_pct: float | None
    nozzle_width_mm: float | None
    roller_load_n: float | None
    setting_carried: str | None


class SetToColumns(TypedDict):
    """What a machine or hand tool was set to, and for what.

    Attributes:
        machine, sheet: names as typed.
        lap: the lap kind: selvage, granules, sand or film.
        nozzle_c: as set, °C.
    """

    machine: str
    sheet: str
    lap: str
    nozzle_c: float


class NozzleTypedColumns(TypedDict):
    """The nozzle's temperature as it was typed."""

    nozzle_text: str
    nozzle_unit: str


class StripSettingColumns(SetToColumns, SpeedColumns, NozzleTypedColumns, MoreSettingColumns):
    """How the machine or hand tool was set for a strip: a strip always has a setting."""


class ConditionsColumns(TypedDict):
    """Weather, line voltage and damp; None is "not read".

    Attributes:
        ambient_c: of the air; `sheet_c`: of the upper sheet's face; `under_c`: of the lower one's.
        wind_m_per_s: steady wind; `gust_m_per_s`: its peak.
        line_v: at the machine, under load.
        damp: 1 where the sheet was noted damp.
        roll_c: of a roll before it is laid out.
        sky: clear, broken or overcast.
        supply: what feeds the machine, like "generator 2".
        carried: what was not read now, and when it was: condition -> time, a JSON object.
    """

    ambient_c: float | None
    sheet_c: float | None
    under_c: float | None
    humidity_pct: float | None
    wind_m_per_s: float | None
    line_v: float | None
    damp: int | None
    gust_m_per_s: float | None
    roll_c: float | None
    sky: str | None
    supply: str | None
    carried: str


class ReadingsColumns(TypedDict):
    """What readings of bleed-out come to."""

    readings_n: int
    width_median_mm: float | None
    width_min_mm: float | None
    width_max_mm: float | None
