"""The inspector behind the welder: probe walks, findings, mends, peel samples."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def welded(go_ahead: Any) -> Any:
    """A1 welded from end to end by Ana."""
    go_ahead.day("07:30 seam start A1 --nozzle 932 --speed 5.5\n07:37 seam finish A1 --to 33")
    go_ahead.clock.set("10:00")
    return go_ahead


def test_a_walk_and_what_it_found_are_recorded_together(welded: Any) -> None:
    """`14.5+3in x 1/2in` is an open lap from 14.5 ft, 3 in long, 1/2 in deep."""
    said = welded.ok(
        'probe A1 0-33 --void "14.5+3in x 1/2in" --void 20 --started 09:40 --by BO'
    ).out
    assert "Probe walk W1 recorded." in said
    assert "Findings: F1, F2." in said
    first, second = welded.query("SELECT * FROM findings ORDER BY tick")
    assert (first["start_m"], first["end_m"], first["depth_mm"]) == (
        pytest.approx(4.4196),
        pytest.approx(4.4958),
        12.7,
    )
    assert (first["kind"], first["how"]) == ("void", "probed")
    assert second["start_m"] == second["end_m"] == pytest.approx(6.096)
    (walk,) = welded.query("SELECT id, started_utc, ended_utc FROM walks")
    assert (walk["started_utc"], walk["ended_utc"]) == (
        "2026-06-01T15:40:00+00:00",
        "2026-06-01T16:00:00+00:00",
    )
    assert first["walk"] == walk["id"]


def test_one_bad_void_records_nothing_of_the_walk(welded: Any) -> None:
    """Together or not at all."""
    before = welded.entries()
    assert welded('probe A1 0-33 --void "14.5+3in" --void "soft spot" --by BO').code == 2
    assert welded.entries() == before


def test_a_walk_over_a_mend_still_warm_is_told_and_flagged(welded: Any) -> None:
    """As over a run: probed at once after the patch, it stays to be probed."""
    welded.day("""
        10:00 probe A1 0-33 --void "14.5+3in" --by BO
        10:10 mend F1 --method patch --by AR
    """)
    welded.clock.set("10:13")
    beside = welded.ok("probe A1 0-10 --by BO").out
    told = " ".join(welded.ok("probe A1 13-17 --by BO").out.split())
    assert "still warm" not in beside
    assert "Seam A1 was still warm: by the limits it is cold 7 min after the walk began" in told
    seam = welded.seam("A1")
    assert seam["state"] == "mended and unprobed"
    assert "probed warm" in seam["flags"]
    welded.clock.set("10:20")
    assert "still warm" not in welded.ok("probe A1 13-17 --by BO").out
    assert welded.seam("A1")["state"] == "probed with no open finding"


def test_a_walk_that_found_nothing_says_so(welded: Any) -> None:
    """Nothing found is a finding too, but no Finding."""
    assert "Nothing found." in welded.ok("probe A1 0-33 --by BO").out
    assert welded.query("SELECT * FROM findings") == []


@pytest.mark.parametrize("kind", ["cold", "fishmouth", "scorched", "wrinkle", "blister", "other"])
def test_a_finding_can_be_recorded_by_itself(welded: Any, kind: str) -> None:
    """Seen, from where to where, or at a point."""
    welded.ok(f"finding A1 {kind} 3ft-4ft2in --by BO")
    welded.ok(f"finding A1 {kind} 12 --how cut --depth 1in --by BO")
    rows = welded.query("SELECT kind, start_m, end_m, how, depth_mm FROM findings ORDER BY tick")
    assert [tuple(row) for row in rows] == [
        (kind, pytest.approx(0.9144), pytest.approx(1.27), "seen", None),
        (kind, pytest.approx(3.6576), pytest.approx(3.6576), "cut", 25.4),
    ]


def test_a_mend_reaches_past_its_finding_by_the_limits_margin(welded: Any) -> None:
    """Half a foot on either side by default; what to do next is said."""
    welded.ok('probe A1 0-33 --void "14.5+6in" --by BO')
    said = welded.ok("mend F1 --method patch --patch 12in --tool 'hand tool 2' --by AR").out
    assert "Probe it again" in said
    (row,) = welded.query("SELECT start_m, end_m, method, tool, patch_mm FROM mends")
    assert tuple(row) == (
        pytest.approx(14 * 0.3048),
        pytest.approx(15.5 * 0.3048),
        "patch",
        "hand tool 2",
        304.8,
    )


def test_a_mend_shorter_than_the_limits_want_is_kept_and_told(welded: Any) -> None:
    """Kept as typed."""
    welded.ok('probe A1 0-33 --void "14.5+6in" --by BO')
    said = " ".join(welded.ok("mend F1 --method patch --place 14.4-15.1").out.split())
    assert "want the mend to reach from 14 ft to 15 ft 6 in" in said
    assert len(welded.query("SELECT * FROM mends")) == 1


@pytest.mark.parametrize("name", ["F9", "W1", "A1", "Z"])
def test_a_mend_is_of_a_finding_that_exists(welded: Any, name: str) -> None:
    """Anything else is refused with what is known."""
    welded.ok("probe A1 0-33 --by BO")
    before = welded.entries()
    refused = welded(f"mend {name} --method patch")
    assert refused.code == 2
    assert welded.entries() == before


def test_a_peel_sample_leaves_a_hole_to_mend(welded: Any) -> None:
    """The cut is itself an open finding, as wide as the sample; 40 lbf over 1 in is 40 lbf/in."""
    welded.ok("peel A1 20 --parted compound --load 40lbf --width 1in --by BO")
    (row,) = welded.query("SELECT * FROM peels")
    # 1 lbf/in = 0.175126835 N/mm, NIST SP 811 appendix B.8.
    assert row["n_per_mm"] == pytest.approx(40 * 0.175126835)
    assert row["parted"] == "in the compound"
    (cut,) = welded.query("SELECT * FROM findings")
    assert (cut["kind"], cut["how"], cut["peel"]) == ("sample cut", "cut", row["id"])
    assert cut["end_m"] - cut["start_m"] == pytest.approx(0.0254)
    assert "40.0 lbf/in" in welded.ok("trace A1").out


@pytest.mark.parametrize(
    ("typed", "n_per_mm"),
    [
        ("--line-load 22lbf/in", 22 * 0.175126835),
        ("--line-load 190N/50mm", 3.8),
        ("--load 180N --width 50mm", 3.6),
    ],
)
def test_a_peel_load_is_read_in_either_custom(welded: Any, typed: str, n_per_mm: float) -> None:
    """lbf/in and N/50 mm (NIST SP 811 B.8)."""
    welded.ok(f"peel A1 20 --parted lap {typed} --by BO")
    assert welded.query("SELECT n_per_mm FROM peels")[0]["n_per_mm"] == pytest.approx(n_per_mm)


def test_a_sample_from_a_strip_cuts_no_seam(welded: Any) -> None:
    """No finding comes of it."""
    welded.ok("peel S1 --parted reinforcement --line-load 30lbf/in")
    assert welded.query("SELECT * FROM findings") == []
    assert (
        welded.query("SELECT strip FROM peels")[0]["strip"]
        == welded.query("SELECT id FROM strips")[0]["id"]
    )


def test_a_seam_without_a_place_is_asked_where(welded: Any) -> None:
    """The refusal says what to type."""
    refused = welded("peel A1 --parted lap")
    assert refused.code == 2
    assert "where" in refused.err


def test_what_lies_outside_the_walk_is_kept_and_told(welded: Any) -> None:
    """A void at 20 on a walk from 0 to 10."""
    assert "outside the walk" in " ".join(
        welded.ok("probe A1 0-10 --void 20+1in --by BO").out.split()
    )


def test_a_mend_at_the_seams_end_need_not_reach_past_it(welded: Any) -> None:
    """The seam ends at 33 ft: a mend to its end is far enough, and the one proposed ends there."""
    welded.ok('probe A1 0-33 --void "32.5+3in" --by BO')
    said = " ".join(welded.ok("mend F1 --method patch --place 32-33 --by AR").out.split())
    assert "want the mend" not in said
    welded.ok('probe A1 30-33 --void "32.8+2in" --by BO')
    welded.ok("mend F2 --method patch --by AR")
    assert welded.query("SELECT end_m FROM mends")[-1]["end_m"] == pytest.approx(33 * 0.3048)


def test_what_of_a_mend_is_still_to_be_probed_again_is_told(welded: Any) -> None:
    """A mend from 14 to 15.5 ft, walked again to 15: half a foot is left."""
    welded.day("""10:00 probe A1 0-33 --void 14.5+6in --by BO
        10:30 mend F1 --method patch --by AR
        11:00 probe A1 10-15 --by BO""")
    assert "Mended, to be probed again: F1 15 ft to 15 ft 6 in" in welded.ok("trace A1").out
    assert "probe again: F1 15 ft to 15 ft 6 in" in " ".join(welded.ok("roof").out.split())
    for document in (welded.ok("trace A1 --json").json, welded.seam("A1")):
        (again,) = document["probe_again"]
        assert again["finding"] == "F1"
        assert again["stretches"] == [pytest.approx([15 * 0.3048, 15.5 * 0.3048])]
    welded.day("11:30 probe A1 15-16 --by BO")
    assert welded.seam("A1")["probe_again"] == []


def test_walks_that_disagree_are_named_with_what_each_told(welded: Any) -> None:
    """Found open by one, walked over in silence by another."""
    welded.day("10:00 probe A1 0-33 --void 14.5+6in --by BO")
    assert "walks disagree" not in welded.seam("A1")["flags"]
    welded.day("11:00 probe A1 10-20 --by AR")
    out = " ".join(welded.ok("trace A1").out.split())
    assert (
        "Walks disagree: F1 at 14 ft 6 in to 15 ft was found, and Ana Ruiz walked over it at 2026-06-01 11:00 (W2) and told nothing."
        in out
    )
    (one,) = welded.ok("trace A1 --json").json["disagreements"]
    assert (one["finding"], one["walk"], one["seen_by"], one["after"]) == (
        "F1",
        "W2",
        "Ana Ruiz",
        True,
    )
    welded.day("12:00 mend F1 --method patch --by AR\n12:30 probe A1 10-20 --by AR")
    assert len(welded.ok("trace A1 --json").json["disagreements"]) == 1


@pytest.fixture
def laid(go_ahead: Any) -> Any:
    """Area C, 60 ft by 20 ft, in rolls of 33 ft: end laps meet side laps."""
    go_ahead.ok('roof lay "C 60ft x 20ft" --roll-width 39.4in --roll-length 33ft')
    return go_ahead


def joint(book: Any, name: str) -> float:
    """How far along its side lap a T-joint lies, ft."""
    return float(
        book.query("SELECT joins_at_m FROM seams WHERE name = ?", name)[0]["joins_at_m"] / 0.3048
    )


def test_a_finding_across_a_t_joint_concerns_the_other_lap_too(laid: Any) -> None:
    """On the side lap C1 where row 1's end lap C1.1 meets it, and on the end lap at either end."""
    at = joint(laid, "C1.1t")
    said = laid.ok(f"finding C1 void {at - 0.3:.3f}ft-{at + 0.3:.3f}ft --how probed --by BO").out
    assert "F1 reaches T-joint C1.1t: it concerns seam C1.1 as well." in " ".join(said.split())
    done = laid.ok(f'probe C1 20-50 --void "{at - 0.1:.3f}ft+3in" --by BO --json').json
    assert [
        (n["finding"], n["joint"], n["seam"]) for n in done["notes"] if n["code"] == "t_joint"
    ] == [("F2", "C1.1t", "C1.1")]
    assert (
        "T-joint" not in laid.ok(f"finding C1 void {at + 0.3:.3f}ft-{at + 0.6:.3f}ft --by BO").out
    )
    said = laid.ok("finding c2.1 void 0ft-2in --how probed --by BO").out
    assert "reaches T-joint C2.1u: it concerns seam C1 as well." in " ".join(said.split())
    cut = laid.ok(
        f"peel C1 {at - 0.04:.3f}ft --parted lap --line-load 9lbf/in --width 1in --by BO"
    ).out
    assert "reaches T-joint C1.1t" in " ".join(cut.split())
