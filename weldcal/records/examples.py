"""What a person is shown to type, in the units of their job.

Invariant: a hint can be typed as it stands: on a job in metres no hint says feet or inches.
"""

from __future__ import annotations

import re
from fractions import Fraction

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
    "stretch": ("0-33", "0-10"),
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


# The units of the commands' own examples: unit typed, unit shown, what of it and from where, and
# the places shown.
_IN_METRES = {
    "ft": ("m", 0.3048, 0.0, 1),
    "in": ("mm", 25.4, 0.0, 0),
    "F": ("C", 5 / 9, -160 / 9, 0),
    "mph": ("m/s", 0.44704, 0.0, 0),
    "lbf": ("N", 4.44822, 0.0, 0),
    "lbf/in": ("N/50mm", 8.75634, 0.0, 0),
    "in/min": ("mm/min", 25.4, 0.0, 0),
}
# As text: nothing that only records has to compile it.
_QUANTITY = r"(?<![\w.])(\d/\d{1,2}|\d+(?:\.\d+)?)(lbf/in|in/min|lbf|mph|ft|in|F)?(?![\w/])"
_BARE = {"5.5": "1.7", "932": "500"}  # the speed and the nozzle of every example


def in_metres(text: str) -> str:
    """A command's own example, or what an option is like, on a job in metres.

    Args:
        text: as it stands in the help, in feet, inches and °F.
    """

    def shown(found: re.Match[str]) -> str:
        number, unit = found.groups()
        if unit is None and "/" not in number:
            return _BARE.get(number, number)
        to, each, start, places = _IN_METRES[unit or "in"]
        value = round(float(Fraction(number)) * each + start, places)
        return f"{value:g}{to}"

    return re.sub(_QUANTITY, shown, text)


def no_stretch(text: str, units: str) -> NotAStretch:
    """The refusal of a from-to that cannot be read.

    Args:
        text: as typed.
        units: us or si, of the job.
    """
    return NotAStretch(name=_("distance"), text=text, example=example("stretch", units))
