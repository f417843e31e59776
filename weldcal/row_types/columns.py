"""Columns that rows of several tables share."""

# Not postponed: the tables are made from the annotations as types.
from typing import TypedDict


class NamedColumns(TypedDict):
    """What every row of a subject has; `id` is the id of the entry that began it."""

    id: str
    job: str
    device: str
    tick: int
    name: str


class SeenColumns(NamedColumns):
    """What every observation's row begins with: when and by whom it was seen and entered."""

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
    """What the dial showed, and the nozzle's heat where somebody measured it."""

    nozzle_measured_c: float | None
    speed_m_per_min: float | None
    dial_mark: float | None
    speed_text: str | None
    speed_unit: str | None


class MoreSettingColumns(TypedDict):
    """What of a setting is read now and then; `setting_carried` is JSON."""

    true_speed_m_per_min: float | None
    air_flow_pct: float | None
    nozzle_width_mm: float | None
    roller_load_n: float | None
    setting_carried: str | None


class SetToColumns(TypedDict):
    """What a machine or hand tool was set to, and for what."""

    machine: str
    sheet: str
    lap: str
    nozzle_c: float


class NozzleTypedColumns(TypedDict):
    """The nozzle's temperature as it was typed."""

    nozzle_text: str
    nozzle_unit: str


class MaybeSetToColumns(TypedDict):
    """As `SetToColumns`; all None where no machine was used."""

    machine: str | None
    sheet: str | None
    lap: str | None
    nozzle_c: float | None


class MaybeNozzleTypedColumns(TypedDict):
    """As `NozzleTypedColumns`; all None where no machine was used."""

    nozzle_text: str | None
    nozzle_unit: str | None


class StripSettingColumns(SetToColumns, SpeedColumns, NozzleTypedColumns, MoreSettingColumns):
    """How the machine or hand tool was set for a strip: a strip always has a setting."""


class SettingColumns(MaybeSetToColumns, SpeedColumns, MaybeNozzleTypedColumns, MoreSettingColumns):
    """How the machine or hand tool was set for a run; all None where no machine was used."""


class ConditionsColumns(TypedDict):
    """Weather, line voltage and damp; None is "not read"."""

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
