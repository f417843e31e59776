"""What a person is shown to type, in the units of their job.

Invariant: a hint can be typed as it stands: on a job in metres no hint says feet or inches.
"""

from __future__ import annotations

from weldcal.errors import NotAStretch
from weldcal.words import _

# What is shown: on a job in US units, on one in metres.
_EXAMPLES = {
    "nozzle": ("932F", "500C"),
    "nozzle range": ("572F-1112F", "300C-600C"),
    "speed": ("5.5", "1.7"),
    "ambient": ("--ambient 61F", "--ambient 16C"),
    "gust": ("18mph", "8m/s"),
    "reading": ("1/4,3/16,5/16", "6mm,5mm,7mm"),
    "strip": ("weldcal strip 5.5 1/4 3/16 none", "weldcal strip 1.7 6 5 none"),
    "place": ("14.5", "4.4"),
    "part": ("3-4", "1-1.2"),
    "stretch": ("3ft-14ft6in", "1m-4.4m"),
    "far": ("33", "10"),
    "found": ("14.5 3in x 1/2in", "4.4 75mm x 12mm"),
    "deep": ("1/2in", "12mm"),
    "void": ('--void "14.5+3in"', '--void "4.4+75mm"'),
    "length": ("33ft", "10m"),
    "cord": ("100ft", "30m"),
    "area": ('"A 60ft x 40ft"', '"A 18m x 12m"'),
    "point": ('--mark "drain at 12ft,8ft"', '--mark "drain at 3.6m,2.4m"'),
    "stand": ("--from 30ft,0", "--from 9m,0"),
    "roll": ("--roll-width 39.4in --roll-length 33ft", "--roll-width 1m --roll-length 10m"),
    "measured": (
        "--mark 5.5 --distance 20ft --time 218s,221s,216s",
        "--mark 1.7 --distance 6m --time 218s,221s,216s",
    ),
    "limit": ('"bleed_high 3/8in: maker sheet rev 4"', '"bleed_high 10mm: maker sheet rev 4"'),
    "machine": ('"blue: ft/min 1-20 step 0.5"', '"blue: m/min 0.3-6 step 0.1"'),
    "mark": ('--mark "5=5.2ft/min"', '--mark "5=1.6m/min"'),
    "item": ("A3 20ft", "A3 6m"),
    "peel": ("weldcal peel A12 12ft", "weldcal peel A12 3.6m"),
}


def example(what: str, units: str) -> str:
    """What is shown to type.

    Args:
        what: a key above.
        units: us or si, of the job.
    """
    return _EXAMPLES[what][units != "us"]


def no_stretch(text: str, units: str) -> NotAStretch:
    """The refusal of a from-to that cannot be read.

    Args:
        text: as typed.
        units: us or si, of the job.
    """
    return NotAStretch(name=_("distance"), text=text, example=example("stretch", units))
