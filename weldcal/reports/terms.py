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
