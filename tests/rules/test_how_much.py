"""How much was welded: every page that sums runs up reconciles with the roof.

A stretch welded twice was welded by runs twice, and is one lap. That pages say both is ours, no
source; the sums are worked out by hand.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.test_one_answer import HANDS, LOGS, morning, played, random_logs
from weldcal.quality.welded_over import again_m, over_m, walked_m, welded_m

__all__ = ["morning"]
FT = 0.3048
TWICE = """
    08:00 seam start A1 --nozzle 932 --speed 6
    08:07 seam finish A1 --to 33
    09:30 probe A1 0-33 --by BO
    09:35 probe A2 0-33 --void "14.5+3in x 1/2in" --by BO
    10:00 seam start A2 --by-hand
    10:20 seam finish A2 --to 20
    11:00 sheet list
"""


@pytest.fixture
def twice(welded_whole: Any) -> Any:
    """99 ft of lap; A1 welded twice by machine, A2 again by hand for 20 ft, after it was probed."""
    welded_whole.day(TWICE)
    return welded_whole


def test_history_says_what_was_welded_over_again(twice: Any) -> None:
    """132 ft by machine and 20 by hand, less 33 and 20: the roof's 99; 66 probed, less 20: 46."""
    said = " ".join(twice.ok("history").out.split())
    assert "132 ft (33 ft of it over again)" in said
    assert "20 ft (20 ft of it over again)" in said
    assert "66 ft (20 ft of it welded over since)" in said
    rows = twice.ok("history --json").json["faults"]
    assert [(r["welded_m"], r["welded_again_m"]) for r in rows] == [
        (pytest.approx(132 * FT), pytest.approx(33 * FT)),
        (pytest.approx(20 * FT), pytest.approx(20 * FT)),
    ]
    assert sum(r["probed_welded_over_m"] for r in rows) == pytest.approx(20 * FT)


def test_a_roof_welded_once_is_not_spoken_of_so(welded_whole: Any) -> None:
    """Nothing about again where nothing was."""
    for page in ("history", "evening", "machine show blue"):
        assert "over again" not in welded_whole.ok(page).out


@pytest.mark.parametrize(
    ("page", "says"),
    [
        ("evening", "welded: 152 ft (53 ft of it over again) in 5 runs, 1 by hand"),
        ("evening", "probed: 66 ft (20 ft of it welded over since) in 2 walks"),
        ("evening", "welded, not probed: 53 ft (54 % of 99 ft)"),
        ("machine show blue", "132 ft (33 ft of it over again) welded"),
        ("person show 'Ana Ruiz'", "152 ft (53 ft of it over again) welded"),
        ("faults", "Probed in all: 66 ft (20 ft of it welded over since)."),
    ],
)
def test_every_page_says_it(twice: Any, page: str, says: str) -> None:
    """As typed on the roof."""
    assert says in " ".join(twice.ok(page).out.split())


def test_the_dossier_and_the_daily_sheet_say_it(twice: Any, tmp_path: Path) -> None:
    """Speeds really used of that day; the totals' rate; areas and laps of the day."""
    import pypdf

    twice.ok(f"dossier {tmp_path / 'd'} --only html")
    page = (tmp_path / "d.html").read_text()
    assert "33 ft (33 ft of it over again)" in page
    assert "1 fault in 66 ft (20 ft of it welded over since) probed" in page
    twice.ok(f"form daily --pdf {tmp_path / 'sheet.pdf'}")
    text = " ".join(pypdf.PdfReader(tmp_path / "sheet.pdf").pages[0].extract_text().split())
    assert "152 ft (53 ft of it over again), Ana Ruiz" in text


def test_a_day_is_what_was_welded_that_day(twice: Any) -> None:
    """A3 welded again the next day: 33 ft of work, and no lap more."""
    twice.day("""
        +
        07:00 seam start A3 --by-hand
        07:30 seam finish A3 --to 33
        08:00 sheet list
    """)
    told = twice.ok("evening --json").json
    assert told["welded_m"] == told["welded_again_m"] == pytest.approx(33 * FT)
    assert told["welded_in_all_m"] == pytest.approx(99 * FT)


@random_logs
@given(parts=LOGS, hands=HANDS)
def test_what_runs_welded_less_what_they_welded_again_is_the_roofs(
    morning: Path,
    tmp_path_factory: pytest.TempPathFactory,
    parts: list[list[str]],
    hands: list[str],
) -> None:
    """History, however it is grouped, and the evening; so it is of what was probed. Probed is no
    more than was welded."""
    log, _other = played(morning, tmp_path_factory.mktemp("log"), parts, hands)
    roof = log("roof --json")
    assert roof is not None
    welded = sum(seam["welded_m"] for seam in roof["seams"])
    probed = sum(seam["probed_m"] for seam in roof["seams"])
    for by in ("job", "person,month", "machine"):
        rows = (log(f"history --by {by} --json") or {"faults": []})["faults"]
        once = sum(row["welded_m"] - row["welded_again_m"] for row in rows)
        still = sum(row["probed_m"] - row["probed_welded_over_m"] for row in rows)
        assert once == pytest.approx(welded)
        assert still == pytest.approx(probed)
        assert all(row["probed_m"] <= row["welded_m"] + 1e-9 for row in rows)
    evening = log("evening --json")
    assert evening is not None
    assert evening["welded_in_all_m"] == pytest.approx(welded)
    assert evening["welded_m"] - evening["welded_again_m"] == pytest.approx(welded)


ROWS = st.lists(
    st.builds(
        lambda seam, start, end, at, n: {
            "id": str(n),
            "seam_key": seam,
            "start_m": start,
            "end_m": end,
            "seen_utc": f"{at}",
            "tick": n,
        },
        st.sampled_from("ab"),
        st.integers(0, 9),
        st.none() | st.integers(0, 9),
        st.integers(1, 3),
        st.integers(0, 99),
    ),
    max_size=8,
    unique_by=lambda row: row["id"],
)


@settings(max_examples=200)
@given(runs=ROWS, walks=ROWS)
def test_the_sums_reconcile_whatever_the_order(runs: Any, walks: Any) -> None:
    """Against counting metre by metre."""

    def metres(rows: Any) -> set[tuple[str, int]]:
        done = [row for row in rows if row["end_m"] is not None]
        return {
            (row["seam_key"], metre)
            for row in done
            for metre in range(*sorted((row["start_m"], row["end_m"])))
        }

    again = again_m(runs)
    assert welded_m(runs) - sum(again.values()) == pytest.approx(len(metres(runs)))
    assert again_m(runs[::-1]) == again
    assert all(-1e-9 <= again[run["id"]] <= welded_m([run]) + 1e-9 for run in runs)
    assert walked_m(walks) == pytest.approx(len(metres(walks)))
    still = {
        place
        for walk in walks
        for place in metres([walk])
        - metres([r for r in runs if (r["seen_utc"], r["tick"]) > (walk["seen_utc"], walk["tick"])])
    }
    assert sum(over_m(walks, runs).values()) == pytest.approx(len(metres(walks) - still))
