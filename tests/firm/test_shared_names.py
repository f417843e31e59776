"""A name of two machines lends one's own to neither: in merged books, and by a knowledge file."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import shlex
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import Clock
from weldcal.cli.main import main
from weldcal.rules.same_thing import Key, NamedThing, SaidSame, meant, one_thing

ROOF = (
    'job new "{roof}" --units us --zone America/Denver --by "{by}" '
    '--sheet "{sheet}: polyester-reinforced SBS base sheet" '
    '--machine "{machine}: ft/min 1-20 step 0.5" --person "{by}: {by[0]}X, operator"'
)
STRIP = "strip record --nozzle 932 --speed {} --bleed {} --bubbling none"
FAST = (("8", "5/16,5/16,1/4"), ("9", "1/4,1/4,3/16"), ("8.5", "1/4,1/4,1/4"))
SLOW = (("5", "1/4,1/4,1/4"), ("4.5", "5/16,1/4,5/16"), ("5.5", "3/16,3/16,1/4"))


def typed(book: Path, line: str, clock: Clock) -> None:
    """One command that must do its work, with nobody looking."""
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["--book", str(book), *shlex.split(line)], clock=clock) == 0, line


def crew(folder: Path, roof: str, by: str, *, machine: str = "blue", strips: Any = ()) -> Path:
    """A crew's book with one roof, and its pack beside it."""
    book, clock = folder / f"{roof}.sqlite", Clock()
    typed(book, ROOF.format(roof=roof, by=by, machine=machine, sheet="base"), clock)
    typed(book, f'me "{by}"', clock)
    if strips:
        typed(book, "conditions --ambient 61F --sheet-temp 74F --wind 5mph", clock)
    for n, (speed, bleed) in enumerate(strips):
        clock.set(f"07:{10 + 5 * n}")
        typed(book, STRIP.format(speed, bleed), clock)
    typed(book, f'pack "{folder / roof}.pack"', clock)
    return book


class Crews:
    """Ana's fast blue on School roof, Cy's slow one on Mill roof, Eva's on Dock roof with nothing
    yet; `file` is what the books of Ana and Cy taught together."""

    def __init__(self, program: Any, folder: Path) -> None:
        self.program, self.folder = program, folder
        self.ana = crew(folder, "School roof", "Ana Ruiz", strips=FAST)
        self.cy = crew(folder, "Mill roof", "Cy Dunn", strips=SLOW)
        self.eva = crew(folder, "Dock roof", "Eva Lind")

    def on(self, book: Path) -> Any:
        """The program on a book."""
        self.program.book = book
        return self.program

    def merged(self, *roofs: str, name: str = "firm") -> Any:
        """The program on a book with the packs of these roofs, in this order."""
        program = self.on(self.folder / f"{name}.sqlite")
        for roof in roofs:
            program.ok(f'merge "{self.folder / roof}.pack"')
        program.ok(f'job use "{roofs[0]}"')
        program.ok('me "Ana Ruiz"')
        return program

    def file(self, *roofs: str, name: str = "firm", more: str = "") -> Path:
        """The file that a book of these roofs teaches."""
        path = self.folder / f"{name}.knowledge"
        self.merged(*roofs, name=name).ok(f'learn "{path}" {more}')
        return path

    def begin(self, book: Path, roof: str, by: str, machine: str = "blue") -> Any:
        """The next roof of a crew."""
        program = self.on(book)
        program.clock.set("06:40", days=7)
        program.ok(ROOF.format(roof=roof, by=by, machine=machine, sheet="base"))
        return program

    def advice(self, book: Path, file: Path | None = None) -> Any:
        """The first advice of the morning, with a file taken in or without."""
        program = self.on(book)
        if file is not None:
            program.ok(f'knowledge take "{file}"')
        return program.ok("dial --sheet-temp 74F --wind 5mph --nozzle 932 --json").json


BOTH = ("School roof", "Mill roof")


@pytest.fixture
def crews(weldcal: Any, tmp_path: Path) -> Crews:
    return Crews(weldcal, tmp_path)


def forecast(found: Any) -> Any:
    values = {name: v for name, v in found["forecast"].items() if isinstance(v, float)}
    return pytest.approx(values, rel=1e-6)


def test_a_third_crews_machine_of_that_name_is_as_one_never_heard_of(crews: Crews) -> None:
    """The firm's levels and the sheet's class teach it; of blue itself, and of base, nothing."""
    file = crews.file(*BOTH)
    blue = crews.advice(crews.eva, file)
    asked = crews.begin(crews.eva, "Barn roof", "Eva Lind", machine="green")
    assert crews.advice(crews.eva)["forecast"] == forecast(blue)
    firm = blue["firm"]
    assert (firm["jobs"], firm["with_machine"], firm["with_sheet"]) == (2, 0, 0)
    assert (firm["machine_shared"], firm["sheet_shared"], firm["sheets_alike"]) == (2, 2, 2)
    asked.ok('job use "Dock roof"')
    why = " ".join(asked.ok("dial --why --sheet-temp 74F --wind 5mph --nozzle 932").out.split())
    assert "2 other jobs taught: 2 sheets of its class." in why
    told = "blue is the name of 2 machines: nothing of its own is known. If it is one of them: weldcal machine same blue --with JOB"
    assert told in why
    shown = asked.ok("knowledge show")
    assert told in " ".join(shown.out.split())
    assert asked.ok("knowledge show --json").json["shared_names"] == {
        "machines": {"blue": 2},
        "sheets": {"base": 2},
    }


def test_who_learns_is_told_and_says_that_they_are_one(crews: Crews) -> None:
    """What the line names is typed, word by word: then the name leads again, and both teach."""
    firm = crews.merged(*BOTH)
    said = " ".join(firm.ok(f'learn "{crews.folder / "a"}"').out.split())
    assert "blue is the name of 2 machines here (" in said
    words = said.split("If two are one: weldcal ")[1].split(", then learn")[0]
    firm.ok(words)
    done = firm.ok(f'learn "{crews.folder / "b"}" --json').json
    assert list(done["shared_names"]["machines"]) == []
    assert list(done["shared_names"]["sheets"]) == ["base"]
    found = crews.advice(crews.eva, crews.folder / "b")
    assert (found["firm"]["with_machine"], found["firm"]["machine_shared"]) == (2, 0)


@pytest.mark.parametrize("whose", BOTH)
def test_each_crew_keeps_its_own_and_merged_books_and_the_file_agree(
    crews: Crews, whose: str
) -> None:
    """Its jobs are among those that taught: they lead to its machine. The book with every strip
    gives the same advice, number by number."""
    book, by, other = (
        (crews.ana, "Ana Ruiz", "Mill roof")
        if whose == "School roof"
        else (crews.cy, "Cy Dunn", "School roof")
    )
    file = crews.file(*BOTH)
    program = crews.begin(book, "Barn roof", by)
    taken = crews.advice(book, file)
    assert (taken["firm"]["with_machine"], taken["firm"]["with_sheet"]) == (1, 1)
    assert "blue was on 1 of those jobs." in program.ok("knowledge show").out
    program.ok("knowledge forget")
    program.ok(f'merge "{crews.folder / other}.pack"')
    program.ok('job use "Barn roof"')
    merged = crews.advice(book)
    assert merged["forecast"] == forecast(taken)
    assert merged["firm"] == taken["firm"]


def test_a_crew_that_left_its_own_job_out_is_not_lent_the_others(crews: Crews) -> None:
    """`--without` its job: the book still holds the two to be two, and so does the file."""
    file = crews.file(*BOTH, more='--without "Mill roof"')
    found = crews.advice(crews.cy, file)
    assert (found["firm"]["jobs"], found["firm"]["with_machine"]) == (1, 0)
    assert "blue is new to it" in crews.on(crews.cy).ok("knowledge show").out


def test_what_this_book_holds_to_be_two_stays_two_with_a_file(crews: Crews) -> None:
    """A file of Ana's book alone, where the name is one machine's; Cy merged her pack."""
    file = crews.file("School roof")
    before = crews.advice(crews.cy, file)
    assert before["firm"]["with_machine"] == 1
    said = " ".join(crews.program.ok("knowledge show").out.split())
    assert "blue was on 1 of those jobs, by its name alone." in said
    assert "Where the name alone tells and it was another one: weldcal merge" in said
    crews.program.ok(f'merge "{crews.folder / "School roof"}.pack"')
    crews.program.ok('job use "Mill roof"')
    after = crews.advice(crews.cy)
    assert (after["firm"]["with_machine"], after["firm"]["machine_shared"]) == (0, 2)
    assert crews.program.ok("knowledge show --json").json["by_name_alone"]["machines"] == []


def test_a_machine_that_went_to_another_crew_is_known_by_saying_so(crews: Crews) -> None:
    """Ana's blue came to Eva: a pack of its job merged, and one word, as the pages say."""
    file = crews.file(*BOTH)
    crews.begin(crews.ana, "Barn roof", "Ana Ruiz")
    own = crews.advice(crews.ana, file)
    eva = crews.on(crews.eva)
    eva.ok(f'merge "{crews.folder / "School roof"}.pack"')
    eva.ok('job use "Dock roof"')
    for what, name in (("machine", "blue"), ("sheet", "base")):
        eva.ok(f'{what} same {name} --with "School roof"')
    eva.clock.set("06:40", days=0)
    assert crews.advice(crews.eva, file)["firm"]["with_machine"] == 1
    eva.clock = crews.program.clock
    assert crews.advice(crews.eva)["forecast"] == forecast(own)


def test_merged_books_say_it_too(crews: Crews) -> None:
    """No file: what the book holds apart is told the same way."""
    eva = crews.on(crews.eva)
    for roof in BOTH:
        eva.ok(f'merge "{crews.folder / roof}.pack"')
    eva.ok('job use "Dock roof"')
    found = crews.advice(crews.eva)["firm"]
    assert (found["with_machine"], found["machine_shared"], found["sheet_shared"]) == (0, 3, 3)
    why = " ".join(eva.ok("dial --why --sheet-temp 74F --wind 5mph --nozzle 932").out.split())
    assert "blue is the name of 3 machines: nothing of its own is known." in why


def test_the_order_of_merging_and_the_other_crews_names_change_nothing(crews: Crews) -> None:
    """Ana's next roof and Eva's: packs merged the other way round; Cy's machine called red."""
    crews.begin(crews.ana, "Barn roof", "Ana Ruiz")
    one = crews.file(*BOTH)
    ana, eva = crews.advice(crews.ana, one), crews.advice(crews.eva, one)
    other = crews.file(*reversed(BOTH), name="reversed")
    assert crews.advice(crews.ana, other)["forecast"] == forecast(ana)
    assert crews.advice(crews.eva, other)["forecast"] == forecast(eva)
    (crews.folder / "red").mkdir()
    crew(crews.folder / "red", "Mill roof", "Cy Dunn", machine="red", strips=SLOW)
    (crews.folder / "red" / "Mill roof.pack").replace(crews.folder / "Mill roof.pack")
    renamed = crews.file(*BOTH, name="renamed")
    assert crews.advice(crews.ana, renamed)["forecast"] == forecast(ana)


def test_a_file_of_the_older_form_is_still_read(crews: Crews) -> None:
    """Form 1: one key a name, none for a name of several, nothing by jobs."""
    for roofs, with_machine in ((BOTH, 0), (("School roof",), 1)):
        file = crews.file(*roofs, name=str(len(roofs)))
        holds = json.loads(file.read_text(encoding="utf-8"))
        for part in ("sha256", "called"):
            del holds[part]
        holds["weldcal_knowledge"] = 1
        holds["names"] = {
            what: {hashed: keys[0] for hashed, keys in names.items() if len(keys) == 1}
            for what, names in holds["names"].items()
        }
        holds["sha256"] = hashlib.sha256(rfc8785.dumps(holds)).hexdigest()
        older = crews.folder / f"older {len(roofs)}"
        older.write_bytes(rfc8785.dumps(holds) + b"\n")
        found = crews.advice(crews.eva, older)["firm"]
        assert (found["jobs"], found["with_machine"]) == (len(roofs), with_machine)
        assert crews.program.ok("knowledge show --json").json["form"] == 1


# -- the rule by its laws ------------------------------------------------------------------------

JOBS = ("1", "2", "3", "4", "5", "6")
KEYS = [(job, name) for job in JOBS for name in ("blue", "red")]
words = st.lists(
    st.builds(SaidSame, st.sampled_from(KEYS), st.sampled_from(KEYS), st.booleans()).filter(
        lambda w: w.one != w.other
    ),
    max_size=6,
)
homes = st.tuples(*(st.sampled_from(["", "x"]) for _job in JOBS))


def grouped(keys: list[Key], home: tuple[str, ...], said: list[SaidSame]) -> dict[Key, int]:
    """What a book whose jobs list these takes for one."""
    return one_thing([NamedThing(key, home[JOBS.index(key[0])]) for key in keys], said)


@settings(max_examples=400)
@given(
    listed=st.sets(st.sampled_from(KEYS), min_size=3),
    there=homes,
    here=homes,
    told=words,
    said=words,
    relabel=st.permutations(range(len(KEYS))),
)
def test_no_name_leads_to_what_is_held_to_be_another(
    listed: set[Key],
    there: tuple[str, ...],
    here: tuple[str, ...],
    told: list[SaidSame],
    said: list[SaidSame],
    relabel: list[int],
) -> None:
    """A file of jobs 1 to 4, a book of 3 to 6, asked on 6. Jobs that both know lead to their own
    thing; the name alone only where it is one's there and the book holds none of it apart; and how
    the file numbers its things changes nothing."""
    file = grouped([key for key in KEYS if key in listed and key[0] <= "4"], there, told)
    book = grouped([key for key in KEYS if key in listed and key[0] >= "3"], here, said)
    for name in [name for job, name in book if job == "6"]:
        mine = book["6", name]
        both = {key: file[key] for key in book if key in file}
        ours = {n for key, n in both.items() if book[key] == mine}
        others = {n for key, n in both.items() if book[key] != mine}
        named = {n for key, n in file.items() if key[1] == name}
        asked = [{f"m{n}" for n in keys} for keys in (ours, others, named)]
        found = meant(*asked)
        again = [{f"m{relabel[n]}" for n in keys} for keys in (ours, others, named)]
        assert meant(*again).key == (f"m{relabel[int(found.key[1:])]}" if found.key else "")
        assert (meant(*again).shared, meant(*again).by_name) == (found.shared, found.by_name)
        if ours:
            assert found.key == (f"m{min(ours)}" if len(ours) == 1 else "")
        elif found.key:
            assert named == {int(found.key[1:])}
            assert not named & others
        assert found.shared == 0 or (found.shared > 1 and not found.key)
