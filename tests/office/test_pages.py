"""The office's pages, from the lake and from one book, as somebody types them."""

from __future__ import annotations

import math
import os
import random
import shutil
from pathlib import Path
from typing import Any

import pytest

PAGES = ("machines", "sheets", "crews", "roofs", "season")


def text(done: Any) -> str:
    return " ".join(done.out.split())


@pytest.mark.parametrize("page", PAGES)
def test_every_page_is_there_from_the_lake_and_from_one_book(
    season: Any, tmp_path: Path, page: str
) -> None:
    """The same headings; as HTML with the same words; as JSON."""
    lake, here = season.ok(f"office {page}"), season.ok(f"office {page} --here")
    headings = [
        next(line for line in done.out.splitlines() if "\t" in line) for done in (lake, here)
    ]
    assert headings[0] == headings[1]
    season.ok(f"office {page} --html {tmp_path / 'page.html'}")
    html = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "<h1" in html
    assert "Mill roof" in html or "base" in html or "Ana Ruiz" in html
    assert page in season.ok(f"office {page} --json").json


def test_machines_say_how_far_off_and_when_last_measured(season: Any) -> None:
    """True speeds over the dial, of each crew's own blue; the medians by hand."""
    rows = season.ok("office machines --json").json["machines"]
    assert [row["name"] for row in rows] == [
        "blue (Barn roof)",
        "blue (Dock roof)",
        "blue (Mill roof)",
    ]
    for row, c in zip(rows, (1, 2, 0), strict=True):
        offs = sorted(100 * ((4.4 + 0.55 * d + c / 10) / (4.5 + 0.5 * d) - 1) for d in range(4))
        assert row["measured"] == "2026-06-04"
        assert row["dial"]["n"] == 4
        assert row["dial"]["median_pct"] == pytest.approx((offs[1] + offs[2]) / 2, abs=0.05)
    assert "never measured" not in text(season.ok("office machines"))


def test_a_sheets_window_says_its_speeds_by_temperature_with_n(season: Any) -> None:
    """On one book with one sheet: every passing strip is in a band, and the line is in its interval."""
    (row,) = (
        r
        for r in season.ok("office sheets --json").json["sheets"]
        if r["name"] == "base (Mill roof)"
    )
    assert row["n"] == 4
    assert sum(band["n"] for band in row["bands"]) == 4
    for band in row["bands"]:
        assert band["low"] < band["m_per_min"] < band["high"]
    middle, low, high = row["pct_per_k"]
    assert low < middle < high


def test_roofs_that_need_somebody_come_with_what_for(season: Any) -> None:
    """Two open findings a morning; a seam mended and probed again needs nobody."""
    rows = season.ok("office roofs --json").json["roofs"]
    assert {row["name"]: row["open"] for row in rows} == {
        "Mill roof": 8,
        "Barn roof": 8,
        "Dock roof": 8,
    }
    assert "3 roofs need somebody." in text(season.ok("office roofs"))
    assert "No roof needs anybody." in text(season.ok("office roofs --since 2027-01-01"))


def test_the_season_counts_since_its_first_day(season: Any) -> None:
    """All of it by default; of the last two days, half."""
    whole = season.ok("office season --json").json["season"]
    assert (whole["since"], whole["strips"], whole["passed"]) == ("2026-01-01", 24, 12)
    assert whole["findings"] == [["fishmouth", 12], ["void", 12]]
    half = season.ok("office season --json --since 2026-06-03").json["season"]
    assert (half["strips"], half["passed"]) == (12, 6)
    assert [row["when"] for row in half["rates"]] == ["before", "since"]


def test_crews_page_says_what_to_look_at(season: Any) -> None:
    """The sentence stays, and every rate has its interval."""
    assert "Look at the work, not at the people" in text(season.ok("office crews"))
    rows = season.ok("office crews --json").json["crews"]["rows"]
    assert sorted(row["name"] for row in rows) == ["Ana Ruiz", "Cy Dunn", "Eva Lind"]
    assert all(row["low"] < row["per_100ft"] < row["high"] for row in rows)


def test_a_day_that_is_none_is_one_plain_line(season: Any) -> None:
    """As everywhere."""
    assert "is not a day" in season("office crews --since soon").err


# -- the comparison itself -------------------------------------------------------------------------


def done(pieces: list[tuple[int, float]]) -> Any:
    from weldcal.quality.crews import Done
    from weldcal.quality.faults import Work, sums_of

    like = sums_of(Work(n, length, {}) for n, length in pieces)
    return Done(like.length_m, 0.0, like)


def test_levels_are_the_algebra_of_the_levels_of_learning() -> None:
    """Against `calibration.levels.Pool`, matrices and all, on the same quadratics."""
    np = pytest.importorskip("numpy")
    from weldcal.calibration.levels import JobEvidence, LevelTerm, Pool, SpreadPrior
    from weldcal.quality.crews import SPREAD, SPREAD_LOG_SD, pooled

    told, dispersion = [(3.0, 5.0), (12.0, 8.0), (0.0, 2.5), (40.0, 41.0)], 1.7
    said = [
        JobEvidence(("rate",), np.array([[e / dispersion]]), np.array([(o - e) / dispersion]))
        for o, e in told
    ]
    sums = [[[LevelTerm("rate", "crew", str(n))]] for n in range(len(told))]
    pool = Pool(said, [np.zeros(1)] * len(told), sums).learn(
        lambda _group: SpreadPrior(SPREAD, SPREAD_LOG_SD)
    )
    for n, level in enumerate(pooled(told, dispersion)):
        at = pool.levels.index(LevelTerm("rate", "crew", str(n)))
        mean, sd = pool.mean[at], math.sqrt(pool.cov[at, at])
        assert math.log(level.ratio) == pytest.approx(mean, abs=1e-9)
        assert math.log(level.high) == pytest.approx(mean + 1.6448536269514722 * sd, abs=1e-9)


def test_crews_who_do_not_differ_seldom_stand_out() -> None:
    """Our simulation: ten crews at one rate, faults in clumps; seeded."""
    from weldcal.quality.crews import compare

    rng, out = random.Random(20261127), 0
    for _roof in range(200):
        crews = {
            f"crew {c}": done(
                [(sum(3 for _ in range(20) if rng.random() < 0.05), 10.0) for _ in range(30)]
            )
            for c in range(10)
        }
        out += any(rate.flag == "stands_out" for rate in compare(crews).rates.rates)
    assert out <= 20


def test_a_crew_with_many_more_faults_stands_out_and_one_with_few_is_pulled_in() -> None:
    """Thrice the rate on much work; the same thrice on a morning alone is not told."""
    from weldcal.quality.crews import compare

    rng = random.Random(7)
    usual = {
        f"crew {c}": done([(int(rng.random() < 0.5), 10.0) for _ in range(60)]) for c in range(6)
    }
    much = done([(int(rng.random() < 0.5) + 1, 10.0) for _ in range(60)])
    little = done([(2, 10.0), (1, 10.0)])
    found = compare({**usual, "much": much, "little": little})
    flags = {rate.level: rate.flag for rate in found.rates.rates}
    assert flags["much"] == "stands_out"
    assert flags["little"] != "stands_out"
    assert found.levels["much"].low > 1.0
    assert found.levels["little"].low < 1.0
    rates = {rate.level: rate.per_100ft for rate in found.rates.rates}
    assert found.levels["little"].ratio < rates["little"] / rates["crew 0"]


def test_like_work_is_what_is_compared(season: Any) -> None:
    """A crew given the warm, hard work is not blamed for it: made on the lake's own rows."""
    from weldcal.office import firm, pages
    from weldcal.office.lake import Lake
    from weldcal.settings import lake_url

    with firm.opened(Lake(lake_url())) as asked:
        asked.run("DELETE FROM told_runs")
        for who, weather, times, faults in (
            ("Hard", "above 30 °C", 40, 4),
            ("Hard", "below 10 °C", 5, 1),
            ("Easy", "above 30 °C", 5, 4),
            ("Easy", "below 10 °C", 40, 1),
            ("Only", "10 to 30 °C", 40, 2),
        ):
            asked.run(
                "INSERT INTO told_runs (job, day, sheet_grp, lap, kind, weather, person_name, "
                "by_hand, probed_m, faults) SELECT 'j', '2026-06-01', 's', 'selvage', 'side lap', "
                "?, ?, 0, 10.0, ? FROM range(?)",
                [weather, who, faults, times],
            )
        rows = {row.name: row for row in pages.crews(asked).rows}
    assert rows["Hard"].faults == 165
    assert rows["Easy"].faults == 60
    assert rows["Hard"].per_100ft == pytest.approx(rows["Easy"].per_100ft, rel=1e-9)
    assert rows["Only"].alone_m == pytest.approx(400.0)
    assert rows["Hard"].alone_m == 0.0


@pytest.mark.parametrize("page", [*PAGES, "history"])
def test_a_page_says_that_packs_came_in_since_its_tables_were_written(
    season: Any, crew: Any, tmp_path: Path, page: str
) -> None:
    """A new roof's pack is taken in: no page is silent about it until the tables are written."""
    assert season.ok(f"office {page} --json").json["packs_since"] == 0
    pack = crew("Quay roof", "Zoe Park")
    season.ok("office", "take", str(pack), "--newcomers")
    assert "NOT ALL: 1 pack came in since" in text(season.ok(f"office {page}"))
    assert season.ok(f"office {page} --json").json["packs_since"] == 1
    if page != "history":
        season.ok(f"office {page} --html {tmp_path / 'page.html'}")
        assert "NOT ALL: 1 pack" in (tmp_path / "page.html").read_text(encoding="utf-8")
    season.ok("office lake")
    assert "NOT ALL" not in text(season.ok(f"office {page}"))


@pytest.mark.parametrize("page", ["roofs", "history"])
def test_tables_of_which_nothing_was_noted_may_not_be_all(
    season: Any, tmp_path: Path, page: str
) -> None:
    """Of an older version, which noted nothing: the page says so until they are written again."""
    elsewhere = tmp_path / "copied"
    shutil.copytree(Path(os.environ["WELDCAL_OFFICE"]) / "lake", elsewhere)
    asked = f"office {page} --lake {elsewhere}"
    assert "PERHAPS NOT ALL" in text(season.ok(asked))
    assert season.ok(f"{asked} --json").json["packs_since"] is None
    season.ok(f"office lake --lake {elsewhere}")
    assert "NOT ALL" not in text(season.ok(asked))
    assert season.ok(f"{asked} --json").json["packs_since"] == 0
    # Tables of another office are not this one's to answer for.
    other = f"{asked} --office {tmp_path / 'none'}"
    assert "NOT ALL" not in text(season.ok(other))


def test_tables_that_are_nowhere_are_named(season: Any, tmp_path: Path) -> None:
    """A share that is not there: its path is said."""
    done = season(f"office roofs --lake {tmp_path / 'share'}")
    assert done.code == 2
    assert str(tmp_path / "share") in done.err
    assert "weldcal office lake" in done.err
