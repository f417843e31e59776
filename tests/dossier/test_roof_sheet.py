"""The roof sheet, read back from its SVG and compared with the tables: where, how much, nothing hidden."""

from __future__ import annotations

import contextlib
import itertools
import math
import sqlite3
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tests.dossier import roofs
from tests.dossier.conftest import Made
from tests.dossier.drawings import FT, NS, Drawing, Drawn, area_shared, points, text_box

INK, PROBED = "#1a1a1a", "#1d4e89"


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """An L-shaped roof of some ninety seams with forty findings, half of them crowded."""
    path = tmp_path_factory.mktemp("small") / "book.sqlite"
    roofs.lay(path, roofs.SMALL)
    roofs.work(path, 40)
    return Made(path)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A roof of over three thousand seams with four hundred findings."""
    path = tmp_path_factory.mktemp("large") / "book.sqlite"
    roofs.lay(path, roofs.LARGE)
    roofs.work(path, 400)
    return Made(path)


def findings(path: Path) -> dict[str, tuple[str, float, float]]:
    """Name -> what it is, and its middle on the roof, m, straight from the tables."""
    query = (
        "SELECT f.name, f.start_m, f.end_m, s.length_m, x0_m, y0_m, x1_m, y1_m, "
        "(SELECT count(*) FROM mends m WHERE m.finding = f.id) "
        "FROM findings f JOIN seams s USING (seam_key)"
    )
    found = {}
    with contextlib.closing(sqlite3.connect(path)) as book:
        for name, start, end, long, x0, y0, x1, y1, mends in book.execute(query):
            part = (start + end) / 2 / long if x0 != x1 or y0 != y1 else 0.0
            what = "mended" if mends else "open"
            found[name] = (what, x0 + (x1 - x0) * part, y0 + (y1 - y0) * part)
    return found


def drawings(made: Made, *kinds: str) -> list[Drawing]:
    """The drawings whose names begin so."""
    return [Drawing(f.svg) for name, f in made.figures().items() if name.startswith(kinds)]


def in_place(drawing: Drawing, mark: Drawn, known: dict[str, tuple[str, float, float]]) -> bool:
    """Whether a mark stands for a place of one of its findings, to two decimals of a coordinate."""
    places = [drawing.place(*known[name][1:]) for name in mark.names]
    return min(math.dist(mark.at, p) for p in places) < 0.25


def test_every_finding_is_marked_once_where_the_tables_put_it(small: Made) -> None:
    """Each by its name, its state and its middle along the seam; alone, none shares a mark."""
    known = findings(small.book)
    (drawing,) = drawings(small, "plan")
    marks = drawing.marks()
    assert {mark.names: mark.what for mark in marks} == {(n,): k[0] for n, k in known.items()}
    assert len(marks) == len(known) == 40
    for mark in marks:
        assert in_place(drawing, mark, known), mark


def test_on_a_large_roof_every_finding_is_in_one_tile(large: Made) -> None:
    """All of them over all tiles, each once; a shared mark says how many it stands for."""
    known = findings(large.book)
    tiles = drawings(large, "tile")
    assert len(tiles) > 10
    told = [(name, mark) for tile in tiles for mark in tile.marks() for name in mark.names]
    assert sum(mark.n for tile in tiles for mark in tile.marks()) == len(known) == 400
    names = [name for name, _mark in told]
    assert len(names) == len(set(names))
    assert all(mark.what == known[name][0] for name, mark in told)
    for tile in tiles:
        for mark in tile.marks():
            assert in_place(tile, mark, known), mark


def test_the_key_plan_counts_what_its_tiles_hold(large: Made) -> None:
    """Open and mended by tile: those whose middle lies in it, each box apart from the others."""
    known = findings(large.book).values()
    (key,) = drawings(large, "key")
    boxes = [g for g in key.root.iter(f"{NS}g") if "data-tile" in g.attrib]
    for what in ("open", "mended"):
        assert sum(int(g.get(f"data-{what}")) for g in boxes) == sum(k[0] == what for k in known)
    first = next(g for g in boxes if g.get("data-tile") == "1")
    wide, high = 330 * FT / 4, 320 * FT / 4
    inside = [k for k in known if k[1] < wide and k[2] > 3 * high]
    assert int(first.get("data-open")) == sum(k[0] == "open" for k in inside)
    plates = [g.find(f"{NS}rect") for g in boxes]
    rects = [tuple(float(r.get(k)) for k in ("x", "y", "width", "height")) for r in plates]
    for a, b in itertools.combinations([(x, y, x + w, y + h) for x, y, w, h in rects], 2):
        assert area_shared(a, b) == 0


@pytest.mark.parametrize("roof", ["small", "large"])
def test_no_mark_lies_over_another(roof: str, request: pytest.FixtureRequest) -> None:
    """Area shared by any two marks' signs and names: none, on every drawing; nothing is drawn over them."""
    made = request.getfixturevalue(roof)
    looked_at = 0
    for drawing in drawings(made, "plan", "tile", "glance"):
        assert drawing.marks_are_last()
        for a, b in itertools.combinations(drawing.marks(), 2):
            looked_at += 1
            for one, other in itertools.product(a.boxes, b.boxes):
                assert area_shared(one, other) == 0, (a, b)
    assert looked_at > 500


@pytest.mark.parametrize("roof", ["small", "large"])
def test_open_findings_are_drawn_after_all_others(
    roof: str, request: pytest.FixtureRequest
) -> None:
    """The order drawn is the order of urgency, so that an open one would be on top of a sample."""
    for drawing in drawings(request.getfixturevalue(roof), "plan", "tile"):
        order = ["sample mended open".index(mark.what) for mark in drawing.marks()]
        assert order == sorted(order)


@pytest.mark.parametrize("roof", ["small", "large"])
def test_names_of_laps_cover_no_bar_and_no_mark(roof: str, request: pytest.FixtureRequest) -> None:
    """The room of each name shares no area with a bar, a mark or another name."""
    for drawing in drawings(request.getfixturevalue(roof), "plan", "tile"):
        names = [text_box(t) for t in drawing.parts() if t.get("font-size") == "8.5"]
        assert len(names) > 10
        bars = [_bar(*ends) for ends in (*drawing.lines(PROBED, "6"), *drawing.lines(INK, "6"))]
        marks = [box for mark in drawing.marks() for box in mark.boxes]
        for name in names:
            assert all(area_shared(name, box) == 0 for box in (*bars, *marks))
        for a, b in itertools.combinations(names, 2):
            assert area_shared(a, b) == 0


def _bar(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float, float, float]:
    (left, right), (top, bottom) = sorted((a[0], b[0])), sorted((a[1], b[1]))
    half = 3.0
    if top == bottom:
        return left, top - half, right, bottom + half
    return left - half, top, right + half, bottom


def test_laps_are_drawn_where_their_coordinates_put_them(small: Made) -> None:
    """Each welded lap's bar from its zero end, as long as the tables say."""
    (drawing,) = drawings(small, "plan")
    bars = drawing.lines(PROBED, "6")
    query = (
        "SELECT x0_m, y0_m, x1_m, y1_m, r.end_m / s.length_m FROM runs r "
        "JOIN seams s USING (seam_key) WHERE x0_m <> x1_m OR y0_m <> y1_m"
    )
    with contextlib.closing(sqlite3.connect(small.book)) as book:
        rows = book.execute(query).fetchall()
    assert len(rows) == len(bars) > 30
    for x0, y0, x1, y1, part in rows:
        ends = drawing.place(x0, y0), drawing.place(x0 + (x1 - x0) * part, y0 + (y1 - y0) * part)
        assert min(max(math.dist(a, ends[0]), math.dist(b, ends[1])) for a, b in bars) < 0.1


def test_the_outline_has_its_dimensions(small: Made) -> None:
    """A 60 by 40 ft roof with 20 by 15 ft beside it: six edges, each with its length once."""
    (drawing,) = drawings(small, "plan")
    told = sorted(
        t for t in drawing.texts() if t in ("60 ft", "40 ft", "80 ft", "20 ft", "25 ft", "15 ft")
    )
    assert told == ["15 ft", "20 ft", "25 ft", "40 ft", "60 ft", "80 ft"]
    outline = sum(math.dist(*ends) for ends in drawing.lines(INK, "1.6"))
    assert outline / drawing.per_m() == pytest.approx(2 * (80 + 40) * FT, abs=0.02)


def test_drains_curbs_and_the_corner_are_named(small: Made) -> None:
    """Two drains and a curb by what they are and by seam; the corner; that nobody recorded north."""
    (drawing,) = drawings(small, "plan")
    told = drawing.texts()
    assert sum(t.startswith("drain A-d") for t in told) == 2
    assert sum(t.startswith("curb A-d3") for t in told) == 1
    assert "plan's corner 0, 0" in told
    assert "north not recorded" in told


def test_the_legend_stands_once(small: Made) -> None:
    """One legend for all drawings, and no table that says it again."""
    assert [name for name in small.figures() if name == "legend"] == ["legend"]
    assert not [t for t in small.tables() if t.caption == "Lines, marks and signs"]


def test_every_mark_leads_to_its_seam(small: Made) -> None:
    """The link's place is the seam's history or row, by the name that stands there."""
    import html5lib

    tree = html5lib.parse(small.html, namespaceHTMLElements=False)
    places = {
        e.get("id"): " ".join("".join(e.itertext()).split()) for e in tree.iter() if e.get("id")
    }
    with contextlib.closing(sqlite3.connect(small.book)) as book:
        seam_of = dict(book.execute("SELECT name, seam FROM findings"))
    (drawing,) = drawings(small, "plan")
    for mark in drawing.marks():
        told = places[mark.link.removeprefix("#")]
        assert told.startswith(f"Seam {seam_of[mark.names[0]]}, ")


def test_findings_are_keyed_to_a_table(large: Made) -> None:
    """Every one by its name, the open first, with its seam and its tile."""
    table = large.table("Findings on the drawings")
    known = findings(large.book)
    assert {row[0] for row in table.rows} == {
        f"{'X' if what == 'open' else 'o'} {name}" for name, (what, _x, _y) in known.items()
    }
    signs = [row[0][0] for row in table.rows]
    assert signs == sorted(signs)
    tiles = {
        name: number.removeprefix("tile-A-")
        for number, figure in large.figures().items()
        if number.startswith("tile")
        for mark in Drawing(figure.svg).marks()
        for name in mark.names
    }
    assert all(tiles.get(row[0][2:], row[5]) == row[5] for row in table.rows)


def test_doubt_and_cover_are_hatched_in_opposite_directions(go_ahead: Any) -> None:
    """Doubt over its stretch of the lap, cover over the whole of another."""
    go_ahead.day("""
        07:30 roof lay "C 60ft x 9ft" --roll-width 39.4in --roll-length 33ft
        08:00 seam start C1 --nozzle 932 --speed 5.5
        08:10 seam finish C1 --to 60
        09:00 probe C1 0-20 --by BO
        09:10 probe C1 20-60 --void 30+2ft --by BO
    """)
    made = Made(go_ahead.book)
    (doubt,) = made.facts.doubts.doubts
    (drawing,) = drawings(made, "plan")
    strokes = _hatching(drawing)
    places = [p for p in doubt.places if p.seam == "c1"]
    low, high = min(p.start_m for p in places), max(p.end_m for p in places)
    xs = [(a[0] + b[0]) / 2 for a, b in strokes]
    left, right = drawing.place(low, 0)[0], drawing.place(high, 0)[0]
    assert left <= min(xs) < left + 6
    assert right - 6 < max(xs) <= right
    assert {_leans(*ends) for ends in strokes} == {1}
    go_ahead.day("09:30 cover C --by AR")
    covered = _hatching(drawings(Made(go_ahead.book), "plan")[0])
    assert {_leans(*ends) for ends in covered} == {1, -1}


def _hatching(drawing: Drawing) -> list[tuple[Any, Any]]:
    """Strokes of hatching."""
    found = []
    for part in drawing.parts():
        if part.get("stroke") == "#595959" and part.get("stroke-width") == "0.9":
            places = points(part.get("d"))
            found += list(zip(places[::2], places[1::2], strict=True))
    return found


def _leans(a: tuple[float, float], b: tuple[float, float]) -> int:
    """1 for a stroke like /, -1 for one like a backslash."""
    return 1 if (b[0] - a[0]) * (b[1] - a[1]) < 0 else -1


def test_the_roof_alone_is_the_same_drawing(go_ahead: Any, tmp_path: Path) -> None:
    """`roof --svg`: the dossier's plan, part for part, without links; the legend; the key in words."""
    go_ahead.day("""
        07:30 roof lay "C 60ft x 9ft" --roll-width 39.4in --roll-length 33ft
        08:00 seam start C1 --nozzle 932 --speed 5.5
        08:10 seam finish C1 --to 60
        09:10 probe C1 0-60 --void 30+2ft --by BO
    """)
    said = go_ahead.ok("roof", "--svg", str(tmp_path / "roof.svg")).out
    assert "roof.svg written." in " ".join(said.split())
    alone = Drawing((tmp_path / "roof.svg").read_text("utf-8"))
    (plan,) = drawings(Made(go_ahead.book), "plan")
    drawn = [ElementTree.tostring(e) for e in alone.parts()]
    for part in plan.parts():
        assert ElementTree.tostring(part) in drawn
    (mark,) = [m for m in alone.marks() if m.names == ("F1",)]
    assert mark.at == plan.marks()[0].at
    assert not list(alone.root.iter(f"{NS}a"))
    assert "X F1 · C1 · 30–32 ft · void · open" in alone.texts()


def test_a_roof_without_seams_has_no_sheet(weldcal: Any, tmp_path: Path) -> None:
    """One line says how to list them; no file is left."""
    weldcal.ok(roofs.JOB)
    assert "weldcal roof lay" in weldcal.refused("roof", "--svg", str(tmp_path / "roof.svg"))
    assert not list(tmp_path.glob("*.svg*"))


@pytest.mark.parametrize(
    ("typed", "across", "down"),
    [("y+", 0, -1), ("x+", 1, 0), ("y-", 0, 1), ("x-", -1, 0), ("30", 0.5, -math.sqrt(3) / 2)],
)
def test_north_points_where_it_was_recorded(
    weldcal: Any, typed: str, across: float, down: float
) -> None:
    """Clockwise from the plan's y, on the drawing the way up; the one seen last counts."""
    weldcal.ok(roofs.JOB)
    weldcal.ok(roofs.SMALL)
    weldcal.ok("roof north 77 --by AR")
    weldcal.ok("roof", "north", typed, "--by", "AR")
    (drawing,) = drawings(Made(weldcal.book), "plan")
    ((tail, tip),) = drawing.lines(INK, "1.4")
    long = math.dist(tail, tip)
    assert ((tip[0] - tail[0]) / long, (tip[1] - tail[1]) / long) == (
        pytest.approx(across, abs=0.01),
        pytest.approx(down, abs=0.01),
    )
    assert "N" in drawing.texts()
    assert "north not recorded" not in drawing.texts()


def test_north_taken_back_is_not_drawn(weldcal: Any) -> None:
    """With its last record gone, the drawing says that nobody recorded it; what cannot be is refused."""
    weldcal.ok(roofs.JOB)
    weldcal.ok(roofs.SMALL)
    weldcal.ok("roof north y+ --by AR")
    weldcal.ok('undo --why "misread the compass" --yes --by AR')
    (drawing,) = drawings(Made(weldcal.book), "plan")
    assert "north not recorded" in drawing.texts()
    assert "between 0 and 360" in weldcal.refused("roof north 400 --by AR")
    assert "is not a number" in weldcal.refused("roof north up --by AR")
