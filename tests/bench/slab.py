"""First simulator: heat into a layered slab, then squeeze flow of a softening compound.

How it differs from a semi-infinite solid with log-linear bleed-out and additive
offsets: conduction is a finite-volume solution through a surface film, compound
and reinforcement; the convection coefficient climbs along the nozzle towards the
nip and falls with the blower; the lap then soaks through an unheated gap; the lower
face has the sheet's temperature, the upper one is partly shaded; wind bleeds the
hot air's drive (a multiplication, not an offset); viscosity follows
Vogel-Fulcher-Tammann; bleed-out is squeezed by a roller for a time that shrinks with
speed and saturates as the compound runs out; bubbling follows the face's peak
temperature before the gap, bond the temperature at the nip; the day's lot moves the
welding temperature, so its effect on width changes with the setting; the heater
saturates. Only a change of the convection coefficient is shortcut: h*f at speed v is
taken as h at v/f^2, exact for a semi-infinite body.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from tests.bench.roofs import (
    REFERENCE_C,
    REFERENCE_NOZZLE_C,
    WINDOW,
    Air,
    Kind,
    Machine,
    Response,
    Shift,
    heater,
)

CELLS = 0.04e-3 * 1.22 ** np.arange(15)  # cell thickness, m; 3.4 mm in all
DEPTH = np.cumsum(CELLS) - CELLS / 2
FLOWING = np.clip((0.45e-3 - (DEPTH - CELLS / 2)) / CELLS, 0, 1) * CELLS
LOG_SPEEDS = np.linspace(np.log(0.25), np.log(16.0), 22)  # m/min
STEPS, GAP_STEPS = 24, 4
GAP_M = 0.004  # from the nozzle's end to the nip
PLAIN = Machine("reference", 1.0, 0.0, 1.0, 2000.0)


@dataclass(frozen=True)
class Slab:
    """Parameters as arrays of shape (roofs,), or (1,) for one roof; profiles (roofs, speeds, cells)."""

    face_peak: np.ndarray  # (roofs, speeds): relative peak face temperature
    nip: np.ndarray  # (roofs, speeds, cells): relative temperature at the nip
    weld_c: np.ndarray  # compound's welding temperature
    vogel_c: np.ndarray  # VFT T0
    steep: np.ndarray  # d ln fluidity / dT at weld_c, 1/K
    squeeze: np.ndarray  # exponent of contact time on speed
    shape: np.ndarray  # exponent from squeezed area to width
    log_area_ref: np.ndarray
    supply_mm: np.ndarray  # width at which the compound runs out
    wind_loss: np.ndarray
    upper: np.ndarray  # share of the sun's rise that the upper face sees
    bubble_c: np.ndarray
    bond_c: np.ndarray
    trace_k: float = 10.0

    def log_area(
        self, log_speed: np.ndarray, drive: np.ndarray, start: np.ndarray, weld_k: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Log squeezed area, peak face and nip face temperature; all (roofs, n)."""
        place = np.clip((log_speed - LOG_SPEEDS[0]) / (LOG_SPEEDS[1] - LOG_SPEEDS[0]), 0, 20.999)
        low = place.astype(int)
        part = place - low
        roof = np.arange(len(self.weld_c))[:, None]
        nip = (
            self.nip[roof, low] * (1 - part)[..., None] + self.nip[roof, low + 1] * part[..., None]
        )
        peak = self.face_peak[roof, low] * (1 - part) + self.face_peak[roof, low + 1] * part
        above = (start[..., None] + drive[..., None] * nip) - self.vogel_c[:, None, None]
        above = np.maximum(above - np.asarray(weld_k)[..., None], 15.0)
        span = (self.weld_c - self.vogel_c)[:, None, None]
        b = (self.steep[:, None, None]) * span**2
        fluid = np.exp(b * (1 / span - 1 / above))
        area = np.log(fluid @ FLOWING) - self.squeeze[:, None] * log_speed
        return area, start + drive * peak, start + drive * nip[..., 0]

    def respond(
        self, speed: np.ndarray, nozzle_c: float, air: Air, machine: Machine, shift: Shift
    ) -> Response:
        """Truth at speeds of shape (n,) or (roofs, n), dial m/min."""
        air = Air(*(_column(getattr(air, f.name)) for f in fields(Air)))
        machine = Machine("", *(_column(getattr(machine, f.name)) for f in fields(Machine)[1:]))
        hot, flow = heater(nozzle_c, air, machine)
        hot = air.ambient_c + (hot - air.ambient_c) * (
            1 - self.wind_loss[:, None] * air.wind / (air.wind + 4.0)
        )
        upper = air.ambient_c + self.upper[:, None] * (air.sheet_c - air.ambient_c)
        start = 0.5 * (air.sheet_c + upper)
        log_speed = np.log(np.atleast_2d(speed) * machine.speed / flow**2)
        shape = np.broadcast_shapes(
            log_speed.shape, start.shape, self.weld_c[:, None].shape, _column(shift.weld_k).shape
        )
        log_speed, start, hot = (np.broadcast_to(a, shape) for a in (log_speed, start, hot))
        weld_k = np.broadcast_to(_column(shift.weld_k), shape)
        area, peak, nip = self.log_area(log_speed, hot - start, start, weld_k)
        return Response(
            self._log_width(area),
            peak - self.bubble_c[:, None] - _column(shift.bubble_k),
            nip - self.bond_c[:, None] - weld_k,
        )

    def _log_width(self, log_area: np.ndarray) -> np.ndarray:
        supply = self.supply_mm[:, None]
        start = np.log(-np.log1p(-WINDOW.aim_mm / supply))
        spread = self.shape[:, None] * (log_area - self.log_area_ref[:, None]) + start
        return np.log(supply) + np.log(-np.expm1(-np.exp(np.clip(spread, -30, 4))))

    def take(self, keep: np.ndarray) -> Slab:
        """The chosen roofs alone."""
        arrays = {f.name: getattr(self, f.name)[keep] for f in fields(self) if f.name != "trace_k"}
        return Slab(**arrays)


def _column(value: float | np.ndarray) -> np.ndarray:
    """A float as it is; one value a roof as a column; (roofs, n) as it is."""
    value = np.asarray(value, float)
    return value if value.ndim != 1 else value[:, None]


def conduct(length: np.ndarray, h: np.ndarray, film: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Relative temperatures for unit drive: peak of the face, profile at the nip.

    `length` heated length, m; `h` mean convection coefficient, W/m2K; `film` the
    surface film's conductivity, W/mK; all (roofs,). Implicit finite volumes. Returns
    (roofs, speeds) and (roofs, speeds, cells).
    """
    k = np.where(DEPTH < 0.12e-3, film[:, None], np.where(DEPTH < 1.3e-3, 0.19, 0.30))
    store = np.where(DEPTH < 1.3e-3, 1000 * 1650.0, 1200 * 1100.0) * CELLS
    between = 1 / (CELLS[:-1] / (2 * k[:, :-1]) + CELLS[1:] / (2 * k[:, 1:]))[:, None, :]
    skin = CELLS[0] / (2 * k[:, :1])
    dwell = length[:, None] * 60 / np.exp(LOG_SPEEDS)
    temp = np.zeros((len(length), len(LOG_SPEEDS), len(CELLS)))
    for i in range(STEPS):
        ramp = h[:, None] * (0.5 + (i + 0.5) / STEPS)
        temp = _step(temp, 1 / (1 / ramp + skin), between, store, dwell / STEPS)
    inward = 1 / (1 / ramp + skin)
    peak = temp[..., 0] + (1 - temp[..., 0]) * inward * skin
    gap = np.full_like(dwell, 0.0) + GAP_M * 60 / np.exp(LOG_SPEEDS)
    for _ in range(GAP_STEPS):
        temp = _step(temp, np.zeros_like(skin), between, store, gap / GAP_STEPS)
    return peak, temp


def _step(temp, inward, between, store, dt):  # type: ignore[no-untyped-def]
    """One backward Euler step (Thomas algorithm) against air at 1."""
    n = temp.shape[-1]
    capacity = store / dt[..., None]
    upper = np.broadcast_to(between, (*temp.shape[:-1], n - 1))
    diagonal = capacity.copy()
    diagonal[..., :-1] += upper
    diagonal[..., 1:] += upper
    diagonal[..., 0] += inward
    right = capacity * temp
    right[..., 0] += inward
    for i in range(1, n):
        factor = upper[..., i - 1] / diagonal[..., i - 1]
        diagonal[..., i] -= factor * upper[..., i - 1]
        right[..., i] += factor * right[..., i - 1]
    out = np.empty_like(temp)
    out[..., -1] = right[..., -1] / diagonal[..., -1]
    for i in range(n - 2, -1, -1):
        out[..., i] = (right[..., i] + upper[..., i] * out[..., i + 1]) / diagonal[..., i]
    return out


def draw_many(
    rng: np.random.Generator,
    kind: Kind,
    count: int,
    rig: float,
    same: tuple[float, float] | None = None,
) -> tuple[Slab, dict[str, np.ndarray]]:
    """Those of `count` drawn roofs that are plausible, with slope, reference speed, width per K.

    `rig` stretches the heated length; `same` is one rig for all, its heated length (m) and
    convection coefficient (W/m2K), so that only compounds differ. Plausible: reference speed 1.1 to 4.4 m/min times `rig`
    (25 °C sheet, 540 °C air; the middle is common practice, 5.5 ft/min at 500 °C), ambient slope 0.010 to 0.023 of speed
    per K (the published span). The same draw makes roofs and the prior oracle's library.
    """
    u = rng.uniform
    length, h = (
        0.041 * rig * np.exp(rng.normal(0, 0.25, count)),
        170 * np.exp(rng.normal(0, 0.3, count)),
    )
    if same is not None:
        length, h = np.full(count, same[0]), np.full(count, same[1])
    peak, nip = conduct(length, h, u(0.1, 0.35, count))
    wide = kind == "wide"
    slab = Slab(
        face_peak=peak,
        nip=nip,
        weld_c=u(95, 190, count),
        vogel_c=u(-60, -10, count),
        steep=np.exp(u(np.log(0.025), np.log(0.08), count)),
        squeeze=u(0.2, 0.8, count),
        shape=np.ones(count),
        log_area_ref=np.zeros(count),
        supply_mm=u(14, 30, count),
        wind_loss=u(0.03, 0.15, count),
        upper=u(0.5, 1.0, count),
        bubble_c=np.zeros(count),
        bond_c=np.zeros(count),
    )
    steepness = u(1.1, 2.2, count) if wide else u(2.8, 5.0, count)
    edges = (
        (u(11, 16, count), u(1.5, 2.8, count))
        if wide
        else (u(8.0, 10.5, count), u(2.2, 3.2, count))
    )
    return _calibrate(slab, steepness, *edges, rig)


def _calibrate(
    slab: Slab, steepness: np.ndarray, bubble_mm: np.ndarray, bond_mm: np.ndarray, rig: float
) -> tuple[Slab, dict[str, np.ndarray]]:
    """Fix reference speed, width's exponent and the two thresholds at reference conditions."""
    start = np.full((len(slab.weld_c), 1), REFERENCE_C)
    drive = np.full_like(start, REFERENCE_NOZZLE_C - REFERENCE_C)
    wanted = (slab.weld_c - REFERENCE_C) / drive[:, 0]
    faces = slab.nip[..., 0]  # falls with speed
    ref = np.array([np.interp(-w, -f, LOG_SPEEDS) for w, f in zip(wanted, faces, strict=True)])[
        :, None
    ]
    area = slab.log_area(ref, drive, start, 0 * start)[0]
    per_speed = (slab.log_area(ref + 0.05, drive, start, 0 * start)[0] - area) / 0.05
    warmer = slab.log_area(ref, drive - 1, start + 1, 0 * start)[0] - area
    lot = slab.log_area(ref, drive, start, 0 * start + 1)[0] - area
    z = -np.log1p(-WINDOW.aim_mm / slab.supply_mm)
    bend = z * np.exp(-z) / -np.expm1(-z)
    slab.shape[:] = steepness / (bend * -per_speed[:, 0])
    slab.log_area_ref[:] = area[:, 0]
    fine = ref + np.linspace(-1.2, 1.2, 61)
    areas, peaks, nips = slab.log_area(
        fine, np.broadcast_to(drive, fine.shape), np.broadcast_to(start, fine.shape), 0 * fine
    )
    widths = slab._log_width(areas)
    for i in range(len(slab.weld_c)):
        slab.bubble_c[i] = np.interp(-np.log(bubble_mm[i]), -widths[i], peaks[i])
        slab.bond_c[i] = np.interp(-np.log(bond_mm[i]), -widths[i], nips[i])
    slope = (-warmer / per_speed)[:, 0]
    per_k = -(lot[:, 0]) * slab.shape * bend
    speed = np.exp(ref[:, 0])
    keep = (
        (speed > 1.1 * rig)
        & (speed < 4.4 * rig)
        & (slope > 0.010)
        & (slope < 0.023)
        & (bubble_mm < slab.supply_mm)
    )
    facts = {"slope": slope[keep], "speed": speed[keep], "per_k": per_k[keep]}
    return slab.take(keep), facts
