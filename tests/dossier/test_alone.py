"""A drawing as a file of its own: what stands below what, worked out by hand."""

from __future__ import annotations

import re

from tests.dossier.test_bars import facts
from weldcal.reports.dossier import alone
from weldcal.reports.dossier.document import Figure
from weldcal.reports.dossier.svg import Svg
from weldcal.views.dossier import Roof


def figure(high: float, caption: str) -> Figure:
    return Figure("f", caption, "", Svg(high).done())


def test_a_file_has_its_figures_below_one_another() -> None:
    """Each with its caption under it, a line 13 high, and the lines last; the file is as high as all."""
    line, room = 13.0, 12.0
    svg = alone._file("Roof", [figure(100, "one"), figure(50, "two")], ["a", "b", "c"])
    moved = [float(y) for y in re.findall(r"translate\(0 ([\d.]+)\)", svg)]
    second = 30 + 100 + line + room
    last = second + 50 + line + room
    assert moved == [30, 100, second, 50, last]
    assert f'viewBox="0 0 720 {last + 3 * line + room:g}"' in svg
    assert f'width="720" height="{last + 3 * line + room:g}"' in svg
    bare = alone._file("Roof", [figure(100, "one")], [])
    assert f'viewBox="0 0 720 {second:g}"' in bare


def test_a_caption_is_folded_between_words() -> None:
    """As many signs as fit; a word too long stands alone."""
    most = 128
    full = "a" * most
    assert alone._folded(f"{full} b") == [full, "b"]
    assert alone._folded("a b  c") == ["a b c"]
    half = "h" * (most // 2)
    assert len(alone._folded(f"{half} {half} {half}")) == 2
    told, high = alone._with_caption(figure(100, f"{full} b"))
    assert high == 100 + 2 * 13
    assert "translate(0 100)" in told
    assert "<svg" not in told and "</svg" not in told


def test_the_legend_stands_after_the_first_drawing() -> None:
    """Of 35 bars the first 34, the legend, the last."""
    seams = [facts(f"A{n}") for n in range(35)]
    svg = alone.sheet(Roof(seams=seams), "Roof", "si")
    places = [
        svg.index(f">{words}<") for words in ("Roof", "A33", "solid bar: welded and probed", "A34")
    ]
    assert places == sorted(places)
