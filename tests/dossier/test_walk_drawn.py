"""Ways and leak searches drawn on the roof sheet, and in letters."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

SET = "--nozzle 932 --speed 5.5"
ROLL = "--roll-width 39.4in --roll-length 33ft"
NS = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def laid(go_ahead: Any) -> Any:
    """Area C, 60 ft by 20 ft: C1 to C4 welded, C1 probed, C3 with a void that was mended."""
    go_ahead.ok(f'roof lay "C 60ft x 20ft" {ROLL}')
    for n in (1, 2, 3, 4):
        go_ahead.day(
            f"07:{12 * n - 2} seam start C{n} {SET}\n07:{12 * n + 8} seam finish C{n} --to end"
        )
    go_ahead.day("""
        10:00 probe C1 0-end --by BO
        10:20 probe C3 0-end --void 30+3in --by BO
        10:30 mend F1 --method patch
    """)
    go_ahead.clock.set("11:00")
    return go_ahead


def discs(path: Path) -> dict[str, tuple[float, float]]:
    """Each number on a drawing, and where its disc lies."""
    found = {}
    for group in ElementTree.parse(path).iter(f"{NS}g"):
        if "data-stop" in group.attrib:
            disc = max(group.iter(f"{NS}circle"), key=lambda c: float(c.attrib["r"]))
            words = [text.text for text in group.iter(f"{NS}text")]
            assert words == [group.attrib["data-stop"]]
            found[group.attrib["data-stop"]] = (float(disc.attrib["cx"]), float(disc.attrib["cy"]))
    return found


def apart(found: dict[str, tuple[float, float]]) -> bool:
    """Whether no disc lies over another."""
    pairs = itertools.combinations(found.values(), 2)
    return all(max(abs(a[0] - b[0]), abs(a[1] - b[1])) >= 15 for a, b in pairs)


def test_a_way_is_drawn_with_a_number_for_each_lap_in_walking_order(
    laid: Any, tmp_path: Path
) -> None:
    """And below it what there is to do, as on the screen."""
    out = laid.ok(f"route --svg {tmp_path}/way.svg").out
    assert "way.svg written" in " ".join(out.split())
    legs = laid.ok("route --json").json["legs"]
    found = discs(tmp_path / "way.svg")
    assert list(found) == [str(n) for n in range(1, len(legs) + 1)]
    assert apart(found)
    # x on the page grows with x on the plan: who begins at the far end stands to the right.
    starts = {n: legs[int(n) - 1]["start"][0] for n in found}
    assert starts[min(found, key=lambda n: found[n][0])] <= min(starts.values()) + 1
    text = (tmp_path / "way.svg").read_text()
    assert "probe again, F1 was mended" in text
    assert "in walking order" in text


def test_a_leak_search_is_drawn_in_its_order_with_the_spot(laid: Any, tmp_path: Path) -> None:
    """Numbers and way as on the screen; it says that it is no cause; the search records nothing."""
    laid.ok("leak 30ft 9ft --where inside --slope y-")
    before = laid.entries()
    said = laid.ok(f"leak search K1 --slope y- --svg {tmp_path}/leak.svg").out
    assert laid.entries() == before
    found = discs(tmp_path / "leak.svg")
    numbered = re.findall(r"^(\d+)\. ", said, re.MULTILINE)
    assert set(found) == set(numbered)
    assert apart(found)
    text = (tmp_path / "leak.svg").read_text()
    assert "Not a cause: water travels" in text
    assert "stroke-dasharray" in text
    way = laid.ok("leak search K1 --slope y- --json").json["way"]
    assert [leg["name"] for leg in way] == re.findall(r"^\d+\. ([\w.]+),", said, re.MULTILINE)


def test_a_leak_search_on_paper_has_its_places_in_the_order_walked(
    laid: Any, tmp_path: Path
) -> None:
    """The probe sheet, a row a place, with what is known against it."""
    pypdf = pytest.importorskip("pypdf")
    laid.ok("leak 30ft 9ft --where inside --slope y-")
    laid.ok(f"form probe --leak K1 --pdf {tmp_path}/leak.pdf")
    text = "\n".join(p.extract_text() for p in pypdf.PdfReader(tmp_path / "leak.pdf").pages)
    names = [leg["name"] for leg in laid.ok("leak search K1 --json").json["way"]]
    on_paper = [name for name in re.findall(r"\bC[\w.]*", text) if name in set(names)]
    assert on_paper[: len(names)] == names
    assert "unprobed" in text


def test_in_letters_the_numbers_stand_on_the_laps(laid: Any) -> None:
    """On the screen, at its width; the spot as @."""
    out = laid.ok("route").out
    rows = [line for line in out.splitlines() if line.startswith("|")]
    legs = laid.ok("route --json").json["legs"]
    drawn = set(re.findall(r"\d+", "".join(rows)))
    assert drawn == {str(n) for n in range(1, len(legs) + 1)}
    laid.ok("leak 30ft 9ft --where inside")
    rows = [line for line in laid.ok("leak search K1").out.splitlines() if line.startswith("|")]
    assert sum(line.count("@") for line in rows) == 1


@pytest.mark.parametrize("columns", ["40", "20"])
def test_on_a_narrow_screen_the_drawing_fits(
    laid: Any, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    """No line is wider than the screen."""
    monkeypatch.setenv("COLUMNS", columns)
    rows = [line for line in laid.ok("route").out.splitlines() if line.startswith("|")]
    assert rows
    assert max(map(len, rows)) <= int(columns)


def test_without_a_plan_there_is_nothing_to_draw(welded_whole: Any, tmp_path: Path) -> None:
    """Told with what to type; the way itself is shown all the same."""
    assert "weldcal roof lay" in welded_whole.refused(f"route --svg {tmp_path}/way.svg")
    assert not (tmp_path / "way.svg").exists()
    assert "1. A1" in welded_whole.ok("route").out


def test_a_ply_below_is_drawn_only_where_somebody_walks_on_it(laid: Any, tmp_path: Path) -> None:
    """The cap not begun has no plan of its own."""
    laid.ok(f"roof lay K --over C {ROLL} --surface granules")
    laid.ok(f"route --svg {tmp_path}/way.svg")
    text = (tmp_path / "way.svg").read_text()
    assert "Area C." in text
    assert "Area K." not in text
    assert "Ply 2" not in laid.ok("route").out
