"""Packs between devices: any order, any number of times, the same tables, nothing dropped."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.keeping import forge
from tests.keeping.tables import contents

STRIP = "strip record --nozzle 932 --speed 5.5 --bleed 1/4,3/16,5/16 --bubbling none"


def missing(out: str) -> bool:
    """Whether a merge's answer tells of entries that are not here yet."""
    return "not here yet" in " ".join(out.split())


@pytest.fixture
def agree(pair: tuple[Any, Any], carry: Callable[..., Any]) -> Callable[[], None]:
    """Carry packs both ways; from then on both devices must hold the same tables, row by row."""

    def exchange() -> None:
        one, two = pair
        carry(one, two)
        carry(two, one)
        assert contents(one.book) == contents(two.book)

    return exchange


@pytest.fixture
def packs(job: Any, tmp_path: Path) -> list[Path]:
    """Three packs of one device: the first all, the next two what was new since."""
    files = []
    for number, words in enumerate(
        [STRIP, "strip pull S1 good", 'amend S1 speed 5 --why "misread"']
    ):
        job.ok(words)
        files.append(tmp_path / f"{number}.weldpack")
        since = ["--since", str(files[-2])] if number else []
        job.ok("pack", str(files[-1]), *since)
    return files


def test_a_pack_gives_the_other_device_the_same_tables(
    job: Any, device: Callable[[str], Any], packs: list[Path]
) -> None:
    """Every row of every table, and a clean verify."""
    other = device("other")
    for file in packs:
        other.ok("merge", str(file))
    assert contents(other.book) == contents(job.book)
    other.ok("verify")


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))), ids=str)
def test_packs_in_any_order_any_number_of_times_give_the_same_tables(
    job: Any, device: Callable[[str], Any], packs: list[Path], order: tuple[int, ...]
) -> None:
    """Each order twice over; a gap is told until it is filled."""
    other = device("other")
    for number in (*order, *order):
        other.ok("merge", str(packs[number]))
    assert contents(other.book) == contents(job.book)
    other.ok("verify")


def test_a_gap_is_told_and_then_filled(
    job: Any, device: Callable[[str], Any], packs: list[Path]
) -> None:
    """Told by merge with the missing sequences, by verify as a fault; the missing pack mends it."""
    other = device("other")
    other.ok("merge", str(packs[0]))
    done = other.ok("merge", str(packs[2]), "--json").json
    (gap,) = done["missing"]
    (before,) = job.query("SELECT seq FROM entries WHERE kind = 'strip'")
    assert gap[1:] == [before["seq"] + 1, before["seq"] + 1]
    assert [f["what"] for f in other("verify --json").json["faults"]].count("gap") == 1
    assert missing(other.ok("merge", str(packs[2])).out)
    assert not missing(other.ok("merge", str(packs[1])).out)
    other.ok("verify")


def test_since_sends_what_the_other_side_lacks_gaps_included(
    job: Any, device: Callable[[str], Any], packs: list[Path], tmp_path: Path
) -> None:
    """The other side has the first pack and the third; its own pack, given as --since, brings the second."""
    other = device("other")
    other.ok("merge", str(packs[0]))
    other.ok("merge", str(packs[2]))
    other.ok("pack", str(tmp_path / "theirs"))
    job.ok("pack", str(tmp_path / "answer"), "--since", str(tmp_path / "theirs"))
    other.ok("merge", str(tmp_path / "answer"))
    other.ok("verify")


def test_since_leaves_out_what_they_have(job: Any, packs: list[Path]) -> None:
    """The later packs hold one entry each."""
    counts = [json.loads(forge.lines_of(file)[0])["entries"] for file in packs]
    assert counts[1:] == [1, 1]


@pytest.mark.parametrize("how", ["cut", "altered", "missing", "none"])
def test_since_of_a_bad_file_is_refused(
    job: Any, packs: list[Path], tmp_path: Path, how: str
) -> None:
    """It decides what is left out, so it is checked as a pack is; no file is made."""
    raw, bad, new = packs[0].read_bytes(), tmp_path / "bad", tmp_path / "new"
    if how == "altered":
        lines = forge.lines_of(packs[0])
        lines[0] = lines[0].replace(b'"heads"', b'"Heads"')
        forge.pack_lines(bad, lines)
    elif how != "missing":
        bad.write_bytes({"cut": raw[: len(raw) // 2], "none": b"hello"}[how])
    assert job("pack", str(new), "--since", str(bad)).code == 2
    assert not new.exists()


def test_a_pack_is_never_written_over_another_file(job: Any, packs: list[Path]) -> None:
    """Exit code 2, the file as it was."""
    before = packs[0].read_bytes()
    assert job("pack", str(packs[0])).code == 2
    assert packs[0].read_bytes() == before


def test_the_same_entries_make_the_same_file(job: Any, tmp_path: Path) -> None:
    """No file name and no time of writing in it: two packs of one minute are one file."""
    for name in ("a", "b"):
        job.ok("pack", str(tmp_path / name))
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_a_kind_of_a_newer_program_is_kept_passed_on_and_ignored(
    job: Any, device: Callable[[str], Any], carry: Callable[..., Any], tmp_path: Path
) -> None:
    """It goes through this device to the next one unchanged."""
    entry = forge.sealed(forge.envelope(payload={"power": ["much"]}, job=job.entries()[0]["id"]))
    before = contents(job.book)
    job.ok("merge", str(forge.pack(tmp_path / "new", [entry])))
    assert contents(job.book) == before
    job.ok("verify")
    other = device("other")
    assert carry(job, other).code == 0
    assert entry in forge.entries_of(other.book)


def test_amendments_that_cross_are_both_kept_and_shown(
    pair: tuple[Any, Any], carry: Callable[..., Any], agree: Callable[[], None]
) -> None:
    """Two devices correct one value: the later in the record's order holds, both stand in the trace as a conflict."""
    one, two = pair
    one.ok("seam start A1 --nozzle 932 --speed 5.5")
    one.ok("seam finish A1 --to 33")
    carry(one, two)
    one.ok('amend R1 end 30 --why "tape slipped"')
    two.ok('amend R1 end 31 --why "read again"')
    agree()
    for book in pair:
        book.ok("verify")
        events = book.ok("trace A1 --json").json["events"]
        assert [e["conflict"] for e in events if e["what"] == "amend"] == [1, 1]
        shown = " ".join(book.ok("trace A1").out.split())
        assert shown.count("CONFLICT") == 2
        assert "tape slipped" in shown
        assert "read again" in shown
        assert "conflict" in book.seam("A1")["flags"]


def test_one_value_corrected_twice_on_one_device_is_no_conflict(job: Any) -> None:
    """The second names the first as what it replaces."""
    job.ok(STRIP)
    job.ok("amend S1 speed 6 --why a")
    job.ok("amend S1 speed 5 --why b")
    assert [row["conflict"] for row in job.query("SELECT conflict FROM amendments")] == [0, 0]


def test_two_devices_listing_the_same_seam_are_shown(
    pair: tuple[Any, Any], carry: Callable[..., Any]
) -> None:
    """Both listings kept; the seam says it was listed twice, however it was spelled."""
    one, two = pair
    one.ok("seam add B7 --length 30ft")
    two.ok("seam add b7 --length 33ft")
    carry(one, two)
    carry(two, one)
    names = set()
    for book in pair:
        lengths = [
            row["length_m"]
            for row in book.query("SELECT length_m FROM seams WHERE seam_key = 'b7'")
        ]
        assert len(lengths) == 2
        (shown,) = [s for s in book.ok("roof --json").json["seams"] if s["name"].lower() == "b7"]
        assert "listed twice" in shown["flags"]
        names.add(shown["name"])
    assert len(names) == 1


def test_two_inspectors_on_one_seam_are_both_kept(
    pair: tuple[Any, Any], carry: Callable[..., Any]
) -> None:
    """Two walks of one short name; each is found by its name and device."""
    one, two = pair
    for book, by in ((one, "Ana Ruiz"), (two, "Ben Okoro")):
        book.ok("probe", "A1", "0-33", "--by", by)
    carry(two, one)
    walks = one.query("SELECT name, device, seen_by FROM walks")
    assert [row["name"] for row in walks] == ["W1", "W1"]
    assert {row["seen_by"] for row in walks} == {"Ana Ruiz", "Ben Okoro"}
    done = one("amend W1 start 1 --why x")
    assert done.code == 2
    for row in walks:
        named = f"W1.{row['device'][:4]}"
        assert named in done.err
        one.ok("amend", named, "start", "1", "--why", "x")


def test_a_mend_and_an_amendment_that_cross_are_both_kept(
    pair: tuple[Any, Any], carry: Callable[..., Any], agree: Callable[[], None]
) -> None:
    """The finding grows on one device while it is mended on the other: it is open again where the mend does not reach."""
    one, two = pair
    one.ok("seam start A1 --nozzle 932 --speed 5.5")
    one.ok("seam finish A1 --to 33")
    one.clock.set("09:00")
    one.ok("finding A1 void 10-11 --how probed --by BO")
    carry(one, two)
    one.clock.set("09:30")
    one.ok("mend F1 --method patch --patch 24in")
    two.ok('amend F1 end 20 --why "it goes on"')
    agree()
    for book in pair:
        seam = book.seam("A1")
        assert seam["open"] == ["F1"]
        assert [e["what"] for e in book.ok("trace A1 --json").json["events"]].count("mend") == 1
        assert "amended" in seam["flags"]


def test_a_pull_on_each_device_is_kept_and_marked(
    pair: tuple[Any, Any], carry: Callable[..., Any], agree: Callable[[], None]
) -> None:
    """Two answers to one question: "pulled twice" stands beside the strip on both."""
    one, two = pair
    one.ok(STRIP)
    carry(one, two)
    one.ok("strip pull S1 good")
    two.ok("strip pull S1 cold")
    agree()
    for book in pair:
        assert "pulled twice" in book.ok("strip list").out


def test_a_finish_on_each_device_is_kept_and_marked(
    pair: tuple[Any, Any], carry: Callable[..., Any], agree: Callable[[], None]
) -> None:
    """Two answers to where a run ended: "finished twice" stands beside it; one alone is no such thing."""
    one, two = pair
    one.ok("seam start A1 --nozzle 932 --speed 5.5")
    carry(one, two)
    one.ok("seam finish A1 --to 33")
    (run,) = one.query("SELECT flags FROM runs")
    assert "finished twice" not in run["flags"]
    two.ok("seam finish A1 --to 30")
    agree()
    for book in pair:
        (run,) = book.query("SELECT flags FROM runs")
        assert json.loads(run["flags"]).count("finished twice") == 1


def test_clocks_that_disagree_are_shown_and_not_trusted(
    pair: tuple[Any, Any], carry: Callable[..., Any]
) -> None:
    """The inspector's clock is two hours back: what was made knowing an entry still comes after it."""
    one, two = pair
    one.clock.set("12:00")
    one.ok(STRIP)
    carry(one, two)
    one.clock.set("10:00")
    two.ok("strip pull S1 good")
    carry(two, one)
    kinds = [e["kind"] for e in one.entries()]
    assert kinds.index("strip") < kinds.index("pull")
    done = one.ok("verify --json").json
    assert done["faults"] == []
    assert [clock["what"] for clock in done["clocks"]] == ["clocks disagree"]


def test_what_another_copy_wrote_as_this_device_is_told_and_not_built_on(
    job: Any, tmp_path: Path
) -> None:
    """An entry under this device's id that it never made: told, and the device goes on under a new id."""
    job.ok("conditions --ambient 60F")
    body, head = forge.entries_of(job.book)[-1]
    last = json.loads(body)
    theirs = forge.sealed(
        forge.envelope(
            device=last["device"],
            seq=last["seq"] + 1,
            tick=last["tick"] + 1,
            prev=head,
            job=last["job"],
        )
    )
    done = job.ok("merge", str(forge.pack(tmp_path / "f", [theirs])))
    job.ok("conditions --ambient 61F")
    assert job.entries()[-1]["device"] != last["device"]
    assert "device" in done.out


def test_a_fork_is_told_at_once_and_passed_on(
    job: Any, device: Callable[[str], Any], carry: Callable[..., Any], tmp_path: Path
) -> None:
    """Both branches are kept, told by merge and verify, and reach the next device."""
    job.ok("conditions --ambient 60F")
    last = json.loads(forge.entries_of(job.book)[-1][0])
    theirs = forge.sealed(
        {**last, "id": forge.uuid(5), "about": forge.uuid(5), "kind": "telepathy", "payload": {}}
    )
    done = job.ok("merge", str(forge.pack(tmp_path / "f", [theirs])))
    assert "two entries" in " ".join(done.out.split())
    other = device("other")
    assert carry(job, other).code == 0
    for book in (job, other):
        assert "fork" in [fault["what"] for fault in book("verify --json").json["faults"]]


def test_photos_go_along_and_are_checked(
    job: Any, device: Callable[[str], Any], carry: Callable[..., Any], tmp_path: Path
) -> None:
    """In the pack by content; changed or missing beside the book, verify says so."""
    photo = tmp_path / "lap.png"
    photo.write_bytes(forge.PHOTO)
    job.ok(*STRIP.split(), "--photo", str(photo))
    other = device("other")
    assert carry(job, other).code == 0
    (kept,) = other.book.with_name(other.book.name + ".photos").iterdir()
    assert kept.read_bytes() == photo.read_bytes()
    assert kept.stat().st_mode & 0o077 == 0
    other.ok("verify")
    kept.write_bytes(photo.read_bytes() + b"touched up")
    assert other("verify").code == 1
    assert carry(job, other).code == 0  # the true one comes again
    other.ok("verify")
    kept.unlink()
    assert other("verify").code == 1


def test_a_pack_says_that_it_could_not_take_a_photo(
    job: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A photo that is missing here cannot be carried: that is told, not passed over."""
    monkeypatch.chdir(tmp_path)
    photo = tmp_path / "lap.png"
    photo.write_bytes(forge.PHOTO)
    job.ok("finding", "A1", "wrinkle", "3-4", "--photo", str(photo))
    (kept,) = job.book.with_name(job.book.name + ".photos").iterdir()
    kept.unlink()
    assert kept.name[:8] in job.ok("pack p").out
