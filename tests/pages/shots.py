"""Screens of the program as pictures: its own run at a terminal of so many columns, drawn by rich.

Invariant: everything in a picture is what the program printed and what was typed
to it; the roof, its people and its readings are the demo's, which are invented.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text

from .blocks import DOCS
from .program import Program, copy_of, demo_roof

PICTURES = DOCS / "pictures"
# Dark on light, as a screen is read in the sun; every colour at least 4.5 : 1 on the paper.
_PAPER, _INK = (250, 250, 247), (26, 26, 26)
_COLOURS = [
    (26, 26, 26),
    (168, 29, 29),
    (22, 99, 46),
    (128, 84, 0),
    (28, 70, 160),
    (122, 40, 130),
    (0, 96, 104),
    (80, 80, 80),
]
_THEME = TerminalTheme(_PAPER, _INK, _COLOURS, _COLOURS)
# rich's own form draws a window and fetches a typeface; a page needs neither.
_FORM = """<svg xmlns="http://www.w3.org/2000/svg" class="screen" viewBox="0 0 {width} {height}">
<style>
.{unique_id}-matrix {{ font-family: ui-monospace, Menlo, Consolas, "DejaVu Sans Mono", monospace; font-size: {char_height}px; line-height: {line_height}px; white-space: pre; }}
.{unique_id}-caption {{ font-family: sans-serif; font-size: 15px; fill: #505050; }}
{styles}
</style>
<defs>
<clipPath id="{unique_id}-clip-terminal"><rect x="0" y="0" width="{terminal_width}" height="{terminal_height}"/></clipPath>
{lines}
</defs>
<rect x="0.5" y="0.5" width="99.9%" height="99.9%" fill="#fafaf7" stroke="#505050"/>
<text class="{unique_id}-caption" x="12" y="25">CAPTION</text>
<g transform="translate({terminal_x}, {terminal_y})" clip-path="url(#{unique_id}-clip-terminal)">
{backgrounds}
<g class="{unique_id}-matrix">{matrix}</g>
</g>
</svg>
"""


@dataclass(frozen=True)
class Shot:
    """One screen: the day (Sunday is 0) and what was typed, `$` at the prompt, `>` as an answer.

    `rows` are those of the terminal, for what fits itself to them.

    The last command and its answers are the picture; what was typed before is not shown.
    """

    name: str
    day: int
    typed: str
    columns: tuple[int, ...] = (80, 40)
    new: bool = False
    language: str = "en"
    rows: int = 50


_NEW = """
06:50 $ weldcal job new "Mill Lane School (invented)" --units us --zone America/Denver --sheet "base: polyester-reinforced SBS base sheet" --machine "blue: ft/min 1-20 step 0.5" --person "Ana Ruiz: AR, operator"
06:51 $ weldcal me "Ana Ruiz"
07:00 $ weldcal conditions --ambient 61F --sheet-temp 74F --wind 5mph
"""
_MORNING = """
06:50 $ weldcal me "Ana Ruiz"
07:00 $ weldcal conditions --ambient 60F --sheet-temp 66F --wind 4mph --line-voltage 228
"""
_PULLED = f"""{_MORNING}
07:08 $ weldcal strip record --nozzle 932 --speed 5.5 --bleed 1/4,1/4,3/16 --bubbling none
07:25 $ weldcal strip pull S6 good --parted compound
"""
SHOTS = [
    Shot(
        "day-operator",
        4,
        """
06:58 $ weldcal
06:58 > Ana Ruiz
06:58 > 60
06:58 > 66
06:59 > 4
06:59 >
06:59 >
""",
    ),
    Shot(
        "day-inspector",
        3,
        """
15:00 $ weldcal day --for inspector
15:00 > Ben Okoro
15:01 >
15:13 >
""",
    ),
    Shot(
        "strip-line",
        4,
        f"""{_MORNING}
07:08 $ weldcal strip record --nozzle 932 --speed 6.5 --bleed 1/16,1/8,1/8 --bubbling none
07:20 $ weldcal strip 5.5 1/4 3/16 1/4 none
07:20 >
""",
    ),
    Shot("dial", 4, f"{_PULLED}\n07:30 $ weldcal dial"),
    Shot(
        "go-ahead",
        4,
        f"""{_PULLED}
07:40 $ weldcal seam start N6 --nozzle 932 --speed 5.5
07:47 $ weldcal seam finish N6 --to 33
07:55 $ weldcal conditions --ambient 82F --sheet-temp 108F --wind 5mph --line-voltage 228
08:00 $ weldcal go-ahead
""",
    ),
    Shot(
        "board",
        4,
        f"""{_PULLED}
07:30 $ weldcal dial
07:40 $ weldcal seam start N6 --nozzle 932 --speed 5.5
07:43 $ weldcal board --once
""",
        rows=25,
    ),
    Shot(
        "probe-line",
        3,
        """
14:50 $ weldcal me "Ben Okoro"
15:10 $ weldcal probe N3 sound to 33, void 14.5 3in x 1/2in
15:10 >
""",
    ),
    Shot("roof", 3, "16:30 $ weldcal roof"),
    Shot("trace", 3, "16:30 $ weldcal trace N4", (80,)),
    Shot("evening", 3, "17:00 $ weldcal evening --ambient 55F", (80,)),
    Shot("roof-linear", 3, "16:30 $ weldcal --screen linear roof", (40,)),
    Shot(
        "probe-spanish",
        3,
        """
14:50 $ weldcal me "Ben Okoro"
15:10 $ weldcal probe N3 bien hasta 33, hueco 14.5 3in x 1/2in
15:10 >
""",
        (40,),
        language="es",
    ),
    Shot("dial-spanish", 4, f"{_PULLED}\n07:30 $ weldcal dial", (40,), language="es"),
    Shot("dial-first", 1, f"{_NEW}\n07:05 $ weldcal dial --nozzle 932", (80,), new=True),
    Shot("dial-show", 4, f"{_PULLED}\n07:30 $ weldcal dial --show", (80,)),
    Shot("dial-card", 4, f"{_PULLED}\n07:30 $ weldcal dial --card --from 50F --to 120F", (80,)),
]


def taken(folder: Path) -> Iterator[tuple[str, str]]:
    """Every picture: its file name and the SVG."""
    whole = demo_roof(made(folder / "demo"))
    for shot in SHOTS:
        for columns in shot.columns:
            home = made(folder / f"{shot.name}-{columns}")
            program = Program(home) if shot.new else copy_of(whole, home)
            yield (
                home.name,
                drawn(
                    _screen(program, shot, columns),
                    home.name,
                    _CAPTIONS[shot.language].format(columns),
                    columns,
                ),
            )


def made(folder: Path) -> Path:
    """A new folder."""
    folder.mkdir()
    return folder


def _screen(program: Program, shot: Shot, columns: int) -> str:
    """Type what comes before, then what is shown; the screen."""
    typed = [line.split(" ", 2) for line in shot.typed.splitlines() if line]
    asked = next(n for n in reversed(range(len(typed))) if typed[n][1] == "$")
    for time, _sign, line in typed[:asked]:
        program.set(time, shot.day)
        program.run(line, there=False)
    program.set(typed[asked][0], shot.day)
    answers = [(time, "".join(text)) for time, _sign, *text in typed[asked + 1 :]]
    return program.seen(typed[asked][2], answers, columns, shot.language, shot.rows)


_CAPTIONS = {
    "en": "{} columns. The roof, its people and its readings are invented.",
    "es": "{} columnas. El techo, su gente y sus lecturas son inventados.",
}


def drawn(screen: str, name: str, caption: str, columns: int) -> str:
    """What stood on the screen as SVG; lines longer than it are broken where a terminal breaks them."""
    console = Console(
        record=True,
        width=columns,
        file=io.StringIO(),
        force_terminal=True,
        color_system="truecolor",
        legacy_windows=False,
        highlight=False,
        markup=False,
        emoji=False,
    )
    for row in Text.from_ansi(screen.rstrip("\n")).split("\n", allow_blank=True):
        ends = range(columns, max(len(row), 1), columns)
        for part in row.divide(ends):
            console.print(part, no_wrap=True, overflow="ignore", crop=False)
    console.print()  # else the last row's descenders are cut off
    made = console.export_svg(theme=_THEME, code_format=_FORM, unique_id=name)
    return _at_reading_size(made.replace("CAPTION", caption))


def _at_reading_size(svg: str) -> str:
    """Letters as large on a narrow screen's picture as on a wide one's, and as the text around."""
    width, height = (float(n) * 0.75 for n in re.findall(r'viewBox="0 0 (\S+) (\S+)"', svg)[0])
    return svg.replace(" viewBox", f' width="{width:.0f}" height="{height:.0f}" viewBox', 1)


def rows(svg: str) -> list[str]:
    """What can be read in a picture, top to bottom: the words of each row, by their places."""
    found: dict[float, list[tuple[float, str]]] = {}
    for one in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text"):
        if (one.text or "").strip() and not one.get("class", "").endswith("-caption"):
            place = (float(one.get("x", "0")), one.text or "")
            found.setdefault(float(one.get("y", "0")), []).append(place)
    return ["".join(text for _x, text in sorted(found[y])).rstrip() for y in sorted(found)]
