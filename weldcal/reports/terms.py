"""Words of the record and of the rooms below, as pages show them.

Invariant: the record keeps these words in English, whatever the reader's language;
every one that a page passes to `_` is marked here or where it is defined.
"""

from __future__ import annotations

from weldcal.words import mark

STATES = (
    mark("not started"), mark("in work"), mark("unprobed"), mark("probed in part"), mark("open findings"),
    mark("mended and unprobed"), mark("probed with no open finding"),
)  # fmt: skip
FLAGS = (
    mark("late"), mark("ahead of the clock"), mark("entered by another"), mark("amended"), mark("conflict"),
    mark("pulled twice"), mark("pull late"), mark("pull entered by another"), mark("finish late"),
    mark("finish entered by another"), mark("finished twice"), mark("not on the seam list"), mark("listed twice"),
    mark("welded twice"), mark("second start"), mark("finished without a start"), mark("warned"),
    mark("past its end"), mark("welding not recorded"), mark("probed by its operator"),
    mark("machine not listed"), mark("sheet not listed"), mark("person not listed"),
    mark("instrument past its check"), mark("conditions carried over"), mark("walked too fast to probe"),
    mark("walked too slowly to be one walk"), mark("walk ends before it began"), mark("walks disagree"),
    mark("covered"), mark("covered unprobed"), mark("worked on after it was covered"), mark("in doubt"),
    mark("go-ahead taken back"),
)  # fmt: skip
FACTORS = (
    mark("operator"), mark("machine"), mark("sheet"), mark("hour"), mark("weather"), mark("go-ahead"),
    mark("morning"), mark("afternoon"), mark("below 10 °C"), mark("10 to 30 °C"), mark("above 30 °C"),
    mark("with"), mark("without"),
)  # fmt: skip
FAULTS = (
    mark("file"), mark("entry"), mark("a record"), mark("a table"), mark("an entry as it was made"),
    mark("clock went back"), mark("clocks disagree"), mark("fork"), mark("id"), mark("its columns"),
    mark("link"), mark("none in this book"), mark("not in this book"), mark("of something else"),
    mark("of this seal"), mark("one entry with this id"), mark("payload"), mark("photo"),
    mark("seal count"), mark("seal"), mark("a seal"), mark("signature"), mark("two"),
)  # fmt: skip
DRIFTS = (
    mark("off the line"),
    mark("speed measured over dial"),
    mark("nozzle measured over set, in °C"),
)
UNITS = (
    mark("ft"), mark("in"), mark("m"), mark("mm"), mark("cm"), mark("ft/min"), mark("m/min"), mark("mph"),
    mark("m/s"), mark("min"), mark("h"), mark("s"), mark("lbf"), mark("N"), mark("lbf/in"), mark("N/50mm"),
    mark("N/mm"), mark("%"), mark("V"), mark("A"),
)  # fmt: skip
COEFFICIENTS = (
    mark("intercept"), mark("lap"), mark("weather curve"), mark("two faces"), mark("nozzle"), mark("wind"),
    mark("heater low"), mark("heater high"), mark("voltage"), mark("sun"), mark("damp"), mark("elasticity"),
    mark("bubbling"), mark("curvature"), mark("trace at"), mark("heavy gap"), mark("cold at"),
    mark("bubbling blur"), mark("cold blur"),
)  # fmt: skip
OTHER_RECORDS = (
    mark("conditions"), mark("measures"), mark("hot work"), mark("covers"), mark("openings"), mark("draws"), mark("leaks"),
    mark("advice"), mark("name"), mark("seen"), mark("seen by"), mark("mark"), mark("mark unit"), mark("distance"),
    mark("time"), mark("speed"), mark("nozzle set"), mark("nozzle measured"), mark("note"), mark("permit"),
    mark("extinguisher"), mark("deck"), mark("facers"), mark("cavities"), mark("primer wet"), mark("watch"),
    mark("watch source"), mark("ended"), mark("watched by"), mark("watch found"), mark("area"), mark("seams"),
    mark("unprobed"), mark("seam"), mark("seed"), mark("stretches"), mark("places"), mark("x"), mark("y"),
    mark("where"), mark("inside"), mark("roof"), mark("paper"), mark("nothing"),
)  # fmt: skip
