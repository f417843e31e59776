"""What other jobs taught, as somebody types it: advice on the next roof, and the knowledge file."""

from __future__ import annotations

import hashlib
import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from weldcal.log import knowledge

NEXT = (
    'job new "{name}" --units us --zone America/Denver --by "Ana Ruiz" '
    '--sheet "base: polyester-reinforced SBS base sheet" --machine "blue: ft/min 1-20 step 0.5" '
    '--person "Ana Ruiz: AR, operator"'
)
STRIP = "strip record --nozzle 932 --speed {speed} --bleed {bleed} --bubbling none"
FAST = (("8", "5/16,5/16,1/4"), ("9", "1/4,1/4,3/16"), ("8.5", "1/4,1/4,1/4"), ("9.5", "3/16,3/16,3/16"))  # fmt: skip


def welded(job: Any, strips: tuple[tuple[str, str], ...] = FAST) -> None:
    """A morning of strips on a rig half as fast again as common practice."""
    job.clock.set("06:50")
    job.ok("conditions --ambient 61F --sheet-temp 74F --wind 5mph")
    for n, (speed, bleed) in enumerate(strips):
        job.clock.set(f"07:{10 + 5 * n}")
        job.ok(STRIP.format(speed=speed, bleed=bleed))


def begin(job: Any, name: str) -> None:
    job.clock.set("06:40", days=7)
    job.ok(NEXT.format(name=name))


def first_advice(job: Any) -> Any:
    return job.ok("dial --sheet-temp 74F --wind 5mph --nozzle 932 --json").json


def numbers(found: dict[str, Any]) -> dict[str, float]:
    return {name: value for name, value in found.items() if isinstance(value, float)}


def ft_per_min(found: Any) -> float:
    return float(found["speed_m_per_min"]) / 0.3048


@pytest.fixture
def firm(job: Any) -> Any:
    """Two roofs welded, a third just begun."""
    welded(job)
    begin(job, "Mill roof")
    welded(job)
    begin(job, "Barn roof")
    return job


def test_the_next_roof_begins_from_the_last_ones(firm: Any) -> None:
    """Not at 5.5 ft/min; and it says from what."""
    found = first_advice(firm)
    assert ft_per_min(found) > 7
    assert found["firm"] == {
        "jobs": 2,
        "with_machine": 2,
        "with_sheet": 2,
        "sheets_alike": 1,
        "strips": 8,
        "machine_shared": 0,
        "sheet_shared": 0,
    }
    said = " ".join(firm.ok("dial --why --sheet-temp 74F --wind 5mph --nozzle 932").out.split())
    assert "And on what 2 other jobs taught: 2 jobs with blue, 2 with base." in said
    assert "starts from what 2 other jobs taught" in said
    advice = [e for e in firm.entries() if e["kind"] == "advice"]
    assert advice[-1]["payload"]["question"]["firm"]["jobs"] == 2


def test_one_job_alone_is_as_it_was(job: Any) -> None:
    """Nothing to learn from: common practice."""
    found = first_advice(job)
    assert found["firm"] is None
    assert ft_per_min(found) < 7


def test_a_machine_said_to_be_another_one_taught_nothing_of_this_one(firm: Any) -> None:
    """The count follows what somebody said."""
    firm.ok('machine same blue --with "School roof" --not --by "Ana Ruiz"')
    firm.ok('machine same blue --with "Mill roof" --not --by "Ana Ruiz"')
    assert first_advice(firm)["firm"]["with_machine"] == 0


def test_what_is_corrected_on_an_earlier_roof_is_learnt_anew(firm: Any) -> None:
    """Every strip of both roofs was slower than typed: the advice follows."""
    before = ft_per_min(first_advice(firm))
    for name in ("School roof", "Mill roof"):
        for n in range(1, 5):
            firm.ok(f'--job "{name}" amend S{n} speed 4 --why "misread the dial" --by "Ana Ruiz"')
    assert ft_per_min(first_advice(firm)) < before


def taken(firm: Any, tmp_path: Path, extra: str = "") -> Path:
    file = tmp_path / "firm.knowledge"
    firm.ok(f"learn {file} {extra}")
    return file


def elsewhere(firm: Any, tmp_path: Path) -> Any:
    """A crew's laptop: another book, the same machine and sheet by name."""
    firm.book = tmp_path / "crew.sqlite"
    firm.ok(NEXT.format(name="Crew's roof"))
    return firm


def test_a_crews_laptop_takes_what_the_firm_knows(firm: Any, tmp_path: Path) -> None:
    """A file needs no old strips, and costs nothing: the advice is that of the book with them
    all, number by number (the file holds ten digits)."""
    here = first_advice(firm)
    file = taken(firm, tmp_path)
    assert file.stat().st_size < 300_000
    crew = elsewhere(firm, tmp_path)
    assert ft_per_min(first_advice(crew)) < 7
    said = crew.ok(f"knowledge take {file}").out
    assert "Learnt from 2 jobs, 8 strips: 1 machine, 1 sheet." in said
    assert "blue was on 2 of those jobs, by its name alone." in said
    there = first_advice(crew)
    assert numbers(there["forecast"]) == pytest.approx(numbers(here["forecast"]), rel=1e-6)
    assert (there["speed_m_per_min"], there["firm"]) == (here["speed_m_per_min"], here["firm"])
    shown, taken_in = said.split("Taken in: ")
    assert "knowledge forget" in " ".join(taken_in.split())
    assert crew.ok("knowledge show").out == shown
    crew.ok("knowledge forget")
    assert first_advice(crew)["firm"] is None


def test_no_name_and_no_place_is_in_the_file(firm: Any, tmp_path: Path) -> None:
    """Machines, sheets, jobs, people, descriptions, ids."""
    text = taken(firm, tmp_path).read_text(encoding="utf-8").casefold()
    for name in ("blue", "base", "roof", "ana", "ruiz", "polyester", "sbs"):
        assert name not in text
    ids = {e["id"] for e in firm.entries()}
    assert not any(one in text for one in ids)


def test_a_name_in_the_file_can_be_known_again_by_who_knows_it(firm: Any, tmp_path: Path) -> None:
    """128 bits of SHA-256 over the file's salt, the kind and the folded name, in hex."""
    holds = json.loads(taken(firm, tmp_path).read_text(encoding="utf-8"))
    assert len(bytes.fromhex(holds["salt"])) == 16
    for what, name in (("machine", "blue"), ("sheet", "base")):
        said = f"{holds['salt']}:{what}:{name}".encode()
        assert list(holds["names"][what]) == [hashlib.sha256(said).digest()[:16].hex()]
    read = knowledge.of_text(json.dumps(holds), "firm")
    assert (read.keys_of("machine", "Blue"), read.keys_of("sheet", "base")) == (("m1",), ("s1",))
    assert read.new_key("machine", "") == ""
    stranger = hashlib.sha256(f"{holds['salt']}:machine:green".encode()).digest()[:16].hex()
    assert read.new_key("machine", "green") == f"new:{stranger}"


def test_a_job_that_taught_the_file_does_not_learn_from_it(firm: Any, tmp_path: Path) -> None:
    """Its strips would count twice: it says so, and how to have one without."""
    file = taken(firm, tmp_path)
    firm.ok('job use "Mill roof"')
    said = " ".join(firm.ok(f"knowledge take {file}").out.split())
    assert "This very job taught it" in said
    assert first_advice(firm)["firm"]["jobs"] == 1  # the other job of this book
    other = tmp_path / "without.knowledge"
    firm.ok(f'learn {other} --without "Mill roof"')
    assert firm.ok(f"knowledge take {other} --json").json["taught_by_this_job"] is False


def test_a_file_damaged_changed_or_newer_is_refused_in_one_line(firm: Any, tmp_path: Path) -> None:
    """Cut short, a number changed by hand, a newer form, another kind of file; nothing is taken."""
    file = taken(firm, tmp_path)
    text = file.read_text(encoding="utf-8")
    holds = json.loads(text)
    edited = {**holds, "mean": [0.5, *holds["mean"][1:]]}
    newer = {**holds, "weldcal_knowledge": 3}
    for name, content, why in (
        ("cut", text[: len(text) // 2], "cut short"),
        ("edited", json.dumps(edited), "changed or damaged"),
        ("newer", json.dumps(newer), "Bring this one up to date"),
        ("foreign", json.dumps({"a": 1}), "no knowledge file"),
        ("binary", "\x00\x01", "no knowledge file"),
        ("list", "[1, 2]", "no knowledge file"),
    ):
        bad = tmp_path / f"{name}.knowledge"
        bad.write_text(content, encoding="utf-8")
        assert why in firm.refused(f"knowledge take {bad}")
    assert "knowledge file" in firm.refused("knowledge show")
    assert "firm.knowledge" in firm.refused(f"learn {file}")


def test_numbers_that_are_no_knowledge_are_refused_though_the_hash_holds(
    firm: Any, tmp_path: Path
) -> None:
    """Somebody who makes the hash anew still cannot hand in levels without their numbers, twice,
    or with numbers that strips never taught: a mean, a spread, a covariance far too large."""
    import hashlib

    import rfc8785

    holds = json.loads(taken(firm, tmp_path).read_text(encoding="utf-8"))
    del holds["sha256"]
    for part, value in (
        ("mean", holds["mean"][1:]),
        ("mean", [1e6, *holds["mean"][1:]]),
        ("levels", [["x", "firm", ""]]),
        ("levels", [holds["levels"][0], holds["levels"][0], *holds["levels"][2:]]),
        ("variance", [[of, at, 1e12] for of, at, _ in holds["variance"]]),
        ("cov", [holds["cov"][0], 50.0, *holds["cov"][2:]]),
        ("jobs", 3),
        ("names", {**holds["names"], "machine": {"a": "m1"}}),
        ("names", {**holds["names"], "machine": {"a": 1}}),
        ("called", 3),
    ):
        made = {**holds, part: value}
        made["sha256"] = hashlib.sha256(rfc8785.dumps(made)).hexdigest()
        bad = tmp_path / f"{part}.knowledge"
        bad.write_text(json.dumps(made), encoding="utf-8")
        assert "no knowledge" in firm.refused(f"knowledge take {bad}")


def test_a_signed_file_says_by_which_key_and_another_key_is_refused(
    firm: Any, tmp_path: Path
) -> None:
    """Ed25519 over the same statement that is hashed."""
    pytest.importorskip("cryptography")
    key = firm.ok(f"key {tmp_path / 'office.pem'} --json").json["public_key"]
    file = taken(firm, tmp_path, f"--sign {tmp_path / 'office.pem'}")
    assert firm.ok(f"knowledge take {file} --key {key} --json").json["signed_by"] == key
    assert "not signed with that key" in firm.refused(f"knowledge take {file} --key {'0' * 64}")
    holds = json.loads(file.read_text(encoding="utf-8"))
    holds["signature"] = "00" * 64
    bad = tmp_path / "forged.knowledge"
    bad.write_text(json.dumps(holds), encoding="utf-8")
    assert "its signature does not hold" in firm.refused(f"knowledge take {bad}")


def test_a_book_without_strips_has_nothing_to_learn_from(job: Any, tmp_path: Path) -> None:
    """Said in one line, and no file is left."""
    assert "strip" in job.refused(f"learn {tmp_path / 'x.knowledge'}")
    assert not (tmp_path / "x.knowledge").exists()


def test_what_the_file_says_in_words_are_its_numbers(firm: Any, tmp_path: Path) -> None:
    """How much sheets and jobs differ, and by the range of 9 in 10 sheets (1.64 sd) how steep."""
    path = taken(firm, tmp_path)
    told = firm.ok("knowledge", "show", str(path), "--json").json
    said = " ".join(firm.ok("knowledge", "show", str(path)).out.split())
    assert (told["jobs"], told["strips"], told["machines"], told["sheets"]) == (2, 8, 1, 1)
    assert "Learnt from 2 jobs, 8 strips: 1 machine, 1 sheet." in said
    differ = re.search(r"it is taken to be some (\d+) % of speed, .* machine (\d+) %", said)
    assert differ is not None
    for percent, of in zip(differ.groups(), ("sheets", "jobs"), strict=True):
        assert int(percent) == pytest.approx(
            100 * math.expm1(told[f"spread_of_{of}_ln_speed"]), abs=0.5
        )
    steep = re.search(
        r"by some ([\d.]+) per cent; from sheet to sheet ([\d.]+) to ([\d.]*\d)", said
    )
    assert steep is not None
    middle, low, high = (float(number) for number in steep.groups())
    away = math.exp(1.64 * told["spread_of_sheets_ln_elasticity"])
    assert away > 1.1
    assert (middle / low, high / middle) == (
        pytest.approx(away, rel=0.1),
        pytest.approx(away, rel=0.1),
    )
    assert 0.8 < middle < 4.0  # a lap half as wide at a quarter more speed is about 3


def test_the_model_report_begins_with_what_other_jobs_taught(firm: Any) -> None:
    """What was believed of the right speed is the firm's, not common practice; the page says so."""
    welded(firm, FAST[:2])
    said = firm.ok("dial --report").out
    assert "What was believed beforehand is what 2 other jobs of the firm taught." in said
    report = firm.ok("dial --report --json").json
    (intercept,) = (c for c in report["coefficients"] if c["name"] == "intercept")
    assert report["firm_jobs"] == 2
    assert intercept["prior_mean"] > 0.65  # ln m/min; common practice has 0.516


def test_the_dossiers_fits_say_from_how_many_jobs_they_begin(firm: Any, tmp_path: Path) -> None:
    """The curve is drawn with them, and its caption says so."""
    welded(firm, FAST[:2])
    firm.ok("dossier", str(tmp_path / "dossier"), "--only", "html")
    (page,) = tmp_path.glob("dossier*.html")
    assert "begun with what 2 other jobs taught" in page.read_text(encoding="utf-8")
