"""What is believed before any strip: every number of the model, with its reason.

Invariant: a prior fixes sign and form where physics does, and is wide wherever
roofs differ; no other module holds a number about the trade. MODEL.md explains
the same table in sentences.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Prior:
    """A normal prior: `mean`, `sd`, the `unit` of both, and the `reason` for them."""

    mean: float
    sd: float
    unit: str
    reason: str


# The point everything is measured from.
WIDTH_MM = 6.35
SHEET_C = 25.0
NOZZLE_C = 500.0
WELD_C = 150.0
WIND_M_PER_S = 2.5

# Effects on the log of the right speed (the speed at which width is WIDTH_MM).
INTERCEPT = Prior(
    math.log(1.676),
    0.11,
    "ln m/min",
    "common practice: 500 °C and 5.5 ft/min give about 1/4 in on a mild day",
)
OTHER_RIG_SHARE = 0.15  # of jobs have a rig or compound unlike common practice:
OTHER_RIG_SD = 0.55  # ln m/min, the intercept's sd there
INTERCEPT_UNJUDGED = Prior(
    math.log(4.0),
    0.40,
    "ln m/min",
    "thermoplastic laps are published at 2 to 9 m/min: the rig decides",
)
SHEET = Prior(0.0, 0.10, "ln speed", "sheets differ in compound and thickness by about an eighth")
MACHINE = Prior(0.0, 0.07, "ln speed", "two machines of one make set alike differ by about a tenth")
REPAIR = Prior(0.0, 0.10, "ln speed", "a new element or nozzle is as another machine, or more")
GRANULES = Prior(-0.08, 0.12, "ln speed", "granules take heat before the compound does: slower")
WEATHER = Prior(
    0.0158,
    0.0045,
    "ln speed per K",
    "conduction gives 1 to 1.3 % per °C (0.6 to 0.7 % per °F) at a welding temperature of 180 °C (356 °F) and more below it; "
    "published windows run from 1 to over 2 %",
)
WEATHER_CURVE = Prior(
    0.0,
    0.06,
    "ln speed per 1000 K²",
    "the slope may change by a tenth in 25 °C (45 °F) more or less",
)
TWO_FACES = Prior(
    -0.0010,
    0.002,
    "ln speed per K of sheet over ambient",
    "the lap's other face is often shaded: a sheet hot from the sun overstates the lap's start",
)
NOZZLE = Prior(
    1.0,
    0.3,
    "times the conduction model",
    "entrained air and the nozzle's height make the drive uncertain, not its sign",
)
WIND = Prior(-0.015, 0.012, "ln speed per m/s", "wind cools jet and sheet: slower; size unknown")
HEATER = Prior(
    0.5,
    0.35,
    "times the conduction model",
    "a saturated heater loses air temperature as the heat balance says; where it saturates differs",
)
VOLTAGE = Prior(0.4, 0.4, "ln speed per ln volts", "a slower blower heats the face less")
SUN = Prior(
    0.24,
    0.10,
    "ln speed at high sun",
    "where only ambient was read: a dark sheet at noon runs 15 °C (27 °F) above it, give or take 6 (11)",
)
DAMP = Prior(-0.04, 0.06, "ln speed", "boiling off water costs heat")

# How width, bubbling and bond follow the heat index (ln of right speed over speed).
ELASTICITY = Prior(
    math.log(2.6),
    0.6,
    "ln (d ln width / d ln speed)",
    "a wide-window sheet has about 1, a narrow one 6 or more: 0.8 to 8.4 covers 95 %",
)
CURVATURE = Prior(
    0.15,
    0.30,
    "per share of speed too slow",
    "squeeze-out flattens at high heat as the film thins; viscosity alone would be nearly straight",
)
TRACE_AT = Prior(
    math.log(0.30),
    0.6,
    "log of the share of speed too slow",
    "first bubbles 5 to 50 °C (10 to 90 °F) above the right face heat: close to the window on narrow sheets",
)
HEAVY_GAP = Prior(
    math.log(0.12),
    0.5,
    "log of the share of speed too slow",
    "a bubbling weld turns heavy 10 °C (18 °F) further",
)
COLD_AT = Prior(
    math.log(0.45),
    0.6,
    "log of the share of speed too fast",
    "a lap bonds with less heat than shows 1/4 in: how much less is the compound's",
)
TRACE_AT_UNJUDGED = Prior(
    math.log(0.28), 0.4, "log of the share of speed too slow", "half of a published window, ln"
)
COLD_AT_UNJUDGED = Prior(
    math.log(0.28), 0.4, "log of the share of speed too slow", "half of a published window, ln"
)
BUBBLING_SHEET = Prior(0.0, 0.10, "share of speed too slow", "compounds foam at different heats")
BUBBLING_BLUR = Prior(
    math.log(0.06), 0.4, "log of the share of speed too slow", "a strip's heat is known to a tenth"
)
COLD_BLUR = Prior(
    math.log(0.07), 0.4, "log of the share of speed too slow", "a strip's heat is known to a tenth"
)

# Spreads. Normal priors on their logs.
DAY_SPREAD = Prior(math.log(0.07), 0.5, "ln (ln speed)", "days differ by some 7 % of speed")
STRIP_SPREAD = Prior(math.log(0.12), 0.5, "ln (ln width)", "strips alike differ by some 12 %")
DAY_SHARE = 0.5  # of the day's variance that all machines share; the rest is each machine's own
READING_SPREAD = 0.13  # scatter of ln width along one strip
READING_SPREAD_SD = 0.4  # of its log
NARROW_ELASTICITY = 3.0  # from here on, a strip's scatter grows with the elasticity

# What was not read. Standard deviations.
SUN_DAY_K = 6.0  # of a sheet at high sun over ambient, from day to day
SUN_STRIP_K = 4.0  # the same, from hour to hour: passing clouds
SHADE_K = 2.0  # of a sheet out of the sun
NOTHING_READ_K = 10.0
SLOPE_OF_THE_DAY = 0.002  # ln speed per K: what a day's own slope differs from the usual
WIND_UNREAD_M_PER_S = 2.0
VOLTS_UNREAD = 0.02
DAMP_STRIP = 0.05

# Greatest rises over ambient at rated voltage, K, between which heaters are taken to lie.
HEATER_RISES_K = (560.0, 700.0)

# Bubbling on one machine's day shares that day's moisture: correlation of two such sightings.
SAME_DAY_BUBBLING = 0.4

# Of a day's offset, the share that bubbling feels too: a fouled nozzle heats less, but a stiffer
# lot only bleeds out less.
DAY_BUBBLES = 0.5

# What goes wrong: shares and factors of the spread.
WILD_READING = 0.05
WILD_STRIP = 0.04
WILD_FACTOR = 6.0

# A machine or a surface that is no longer what it was. Chances and sizes are site settings, no
# source; tests/bench measures what they cost on healthy mornings.
BREAKS_PER_HOUR = 0.012
BREAKS_PER_STRIP = 0.008  # something is touched between any two strips
BREAKS_OVERNIGHT = 0.030
BREAKS_PER_EVENT = 0.050  # power lost, another roll begun
WET_AFTER_DAMP = 0.025  # either surface, once damp was noted: a strip noted dry is not a dry roll
REPAIRED = 0.90  # the same for the machine's heat, where it was repaired between them
MENDED = 0.10  # chance, from one strip to the next, that what was broken is right again
BROKEN_KINDS = {"machine": 0.5, "bond": 0.25, "bubbling": 0.25}  # shares of what breaks
JUMP = 0.30  # heat index: size of a machine's jump (mode at 1.4 times this), never near 0
JUMP_COLDER = 0.7  # of jumps are towards too little heat
COLD_ANYWAY = 0.85  # a pull on a surface that does not bond
BUBBLES_ANYWAY = 0.85  # a strip over water or unburnt film
HEAVY_ANYWAY = 0.6  # of those that bubble

# A reading of the sheet ages: sd, K.
AGE_K_PER_ROOT_HOUR = 3.0  # cloud, wind, shade
# Where the sky was noted, a fifth either way of what the balance says. Where nobody noted it, the
# share of a clear sky's sun may be any between an overcast sky's (0.25) and all of it: mean, and
# sd of an even spread. A sky seen in the reading is forgotten by 1/e in so many hours, and so is
# the wind read beside it, for a medium one: still at dawn, it rises with the sun (common practice,
# no source). By the hour alone the sun is a summer noon's: a clear sky sends on average
# 0.67 of it over a year and 0.79 from March to November, 25 to 55 degrees north (`physics/sun.py`).
AGE_SUN_NOTED = 0.20
USUAL_SUN, USUAL_SUN_SD = 0.625, 0.217
FORGOTTEN_H = 6.0
SUN_BY_HOUR_ALONE = 0.75

# What a firm's jobs share. Every unknown is a sum of levels; spreads of the levels, in the unit
# of the unknown: of the firm about common practice, between sheets (half of it between classes
# of sheets), between machines, between jobs with the same sheet and machine (lot, site, habits).
# Site settings, no source: together about the table above, which is a job's of a firm unknown.


@dataclass(frozen=True, slots=True)
class Shared:
    """Spreads of an unknown's levels; 0 where it has no such level."""

    firm: float = 0.0
    sheet: float = 0.0
    machine: float = 0.0
    job: float = 0.0


UNLIKE_RIG = 0.30  # ln m/min: of a job like none of the firm's, about common practice
SHARED_INTERCEPT = Shared(firm=0.25, job=0.04)  # a firm's rigs, unusual ones included
# The sheets that a firm welds over the years differ more than the cap and base of one roof: by
# conduction ln speed moves by 2/(welding - sheet temperature), some 1.6 % per K of the compound's
# welding temperature; that compounds lie 12 K (sd) apart has no source.
SHARED_SHEET = Shared(sheet=0.20, job=0.03)
SHARED_MACHINE = Shared(machine=0.07, job=0.02)
# How a compound flows, foams and bonds is the sheet's: the firm adds its rollers and the sheets it
# usually buys. A firm that knows only wide sheets knows little of a narrow one.
SHARED_ELASTICITY = Shared(firm=0.15, sheet=0.58, job=0.07)
SHARED_REPAIR = Shared(job=0.10)
SHARED_BUBBLING = Shared(sheet=0.10, job=0.03)
SHARED_COMPOUND = Shared(firm=0.25, sheet=0.9, job=0.35)  # times the sd of the table
SHARED_REST = Shared(firm=0.7, sheet=0.6, job=0.35)  # times the sd of the table
CLASS_SHARE = 0.5  # of the variance between sheets, between classes of them
LEVEL_LOG_SD = 0.5  # of a spread's log: how surely the spreads above are believed
# Chance that a job is like none of the firm's, so that the table above holds; times what is left
# of it where the sheet is one welded before, and where the machine is.
UNLIKE = (0.10, 0.3, 0.5)
