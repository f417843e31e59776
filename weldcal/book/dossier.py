"""What the warranty dossier is made from, gathered from the book.

Invariant: nothing is recorded here. Seams are read one after another, so that a
roof of ten thousand costs no more memory than its summary; what comes out is
plain: SI floats and text, with names left out where that was asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from weldcal.book import dossier_record as record
from weldcal.book import integrity
from weldcal.book.core import Service
from weldcal.book.dossier_facts import PeopleNames, count_marks
from weldcal.book.faulting import probed_pieces
from weldcal.book.job_reader import AS_LISTED
from weldcal.book.on_seams import ON_SEAMS
from weldcal.book.seam_rows import NOTHING_WHOLE
from weldcal.log import verifying
from weldcal.long_work import Progress, no_progress
from weldcal.quality.doubt import Doubts, of_seam
from weldcal.row_types.listed import (
    AreaRow,
    InstrumentRow,
    JobRow,
    LimitRow,
    MachineRow,
    PersonRow,
    SheetRow,
)
from weldcal.row_types.record import WithdrawnRow
from weldcal.row_types.work import FindingRow
from weldcal.tables.schema import TABLES
from weldcal.views import rows as viewed
from weldcal.views.dossier import BleedChart, Counted, DayFit, Dossier, Lists, SeamFacts, Tell
from weldcal.views.fault import Fault
from weldcal.views.trace import SeamTrace
from weldcal.views.upkeep import LeakNow, ListLine
from weldcal.words import _

if TYPE_CHECKING:
    from weldcal.book.dossier_fits import DayFits
    from weldcal.book.job_reader import JobReader
    from weldcal.book.keeping import Keeping
    from weldcal.book.limits import Limits
    from weldcal.book.marks import Marking
    from weldcal.book.on_seams import OnSeams
    from weldcal.book.roof import SeamStates
    from weldcal.book.sampling import Sampling
    from weldcal.book.sealing import Sealing
    from weldcal.book.site import Site
    from weldcal.book.stock import Stock
    from weldcal.book.strips import Strips
    from weldcal.book.summing import Summing
    from weldcal.book.traced import Traces
    from weldcal.book.upkeep import Upkeep


# Seams traced in full; control charts.
MOST_TRACED, MOST_CHARTS = 100, 12


# Where a seam comes among those with pages, if it has nothing else to tell: after all but the corrected.
_TAKEN_BACK = (1, 1, 1, 1, 1, 0)


# Tables shown elsewhere in the dossier, or of no use on paper.
_ELSEWHERE = {
    "jobs",
    "areas",
    "sheets",
    "machines",
    "instruments",
    "people",
    "limits",
    "conditions",
    "strips",
    "readings",
    "seams",
    *ON_SEAMS,
    "advice",
    "seals",
    "handed",
    "warnings",
    "amendments",
    "withdrawn",
    "norths",
    "start_lines",
    "start_answers",
    "looks",
    "punch",
    "leaks",
    "leak_steps",
}


class _Gathered(Struct, frozen=True):
    """The parts of the dossier that take long to gather, names as they are.

    Attributes:
        untraced: how many seams would want a page of their own besides those traced.
        unfitted: how many spells of strips were left out of the fits.
    """

    faults: list[Fault]
    clocks: list[Fault]
    marks: dict[str, Counted]
    seams: list[SeamFacts]
    traces: list[SeamTrace]
    untraced: int
    doubts: Doubts | None
    strips: list[viewed.JudgedStrip]
    conditions: list[viewed.MarkedConditions]
    fits: list[DayFit]
    unfitted: int


class Dossiers(Service):
    """Gathers the warranty file."""

    _reader: JobReader
    _fits: DayFits
    _keeping: Keeping
    _limits: Limits
    _marks: Marking
    _on_seams: OnSeams
    _roof: SeamStates
    _sampling: Sampling
    _sealing: Sealing
    _site: Site
    _stock: Stock
    _strips: Strips
    _summing: Summing
    _traces: Traces
    _upkeep: Upkeep

    def dossier(self, *, people: bool = True, on_progress: Progress = no_progress) -> Dossier:
        """Gather the dossier of the job.

        Args:
            people: False puts "person 1", "person 2" for names.
            on_progress: called with how far it is.
        """
        names = self._people(people)
        faults = self._sealing.verify(on_progress)[1] + self._keeping.photo_faults(on_progress)
        on_progress(_("clocks"), 0, 0)
        clocks = self._keeping.clock_warnings()
        marks: dict[str, Counted] = {}
        seams = self._summing.summed(marks, on_progress)
        wanted = self._with_pages(seams)
        on_progress(_("traces"), 0, 0)
        on_progress(_("doubts"), 0, 0)
        doubts = self._summing.doubts()
        traces = self._traced([s.key for s in wanted[:MOST_TRACED]], seams, doubts)
        strips = self._strips.strips()
        conditions = self._summing.marked(viewed.MarkedConditions, "conditions")
        count_marks(marks, "conditions", conditions)
        count_marks(marks, "strips", strips)
        fits, unfitted = self._fits.latest(strips, on_progress)
        return self._named(
            names,
            _Gathered(
                faults,
                clocks,
                marks,
                seams,
                traces,
                max(0, len(wanted) - MOST_TRACED),
                doubts,
                strips,
                conditions,
                fits,
                unfitted,
            ),
        )

    def _with_pages(self, seams: list[SeamFacts]) -> list[SeamFacts]:
        """The seams that want a page of their own, the worst first."""
        withdrawn = {row["seam_key"] for row in self._taken_back()}
        touched = {*withdrawn, *self._traces.placed_keys()}
        urgent = {s.key: s.urgency or _TAKEN_BACK for s in seams if s.urgency or s.key in touched}
        return sorted((s for s in seams if s.key in urgent), key=lambda s: urgent[s.key])

    def _named(self, names: PeopleNames, gathered: _Gathered) -> Dossier:
        """The dossier, people's names removed where they are not to be shown.

        Names are numbered in the order met: the order below is that of the numbers.
        """
        from weldcal import __version__

        job = self._reader.by_id(JobRow, self._reader.job.id)
        traces = [_without_names(trace, names) for trace in gathered.traces]
        settled, withdrawn = self._settled_forks(names), names.all(self._taken_back())
        seals = self._seals(names)
        return Dossier(
            job=names.mask(job),
            made=self._reader.now().isoformat(timespec="seconds"),
            version=__version__,
            people_shown=names.shown,
            lists=self._lists(names),
            limits=names.all(record.limits_now(self._limits)),
            limit_changes=names.all(self._reader.of_job(LimitRow, AS_LISTED)),
            seams=gathered.seams,
            traces=traces,
            untraced=gathered.untraced,
            marks=gathered.marks,
            pieces=probed_pieces(self._reader, self._limits),
            days=record.day_counts(self._reader),
            strips=names.all(gathered.strips),
            conditions=names.all(gathered.conditions),
            runs=names.all(self._summing.marked(viewed.MarkedRun, "runs")),
            bleeds=names.all(self._summing.read_bleeds()),
            peels=names.all(self._summing.marked(viewed.MarkedPeel, "peels")),
            fits=gathered.fits,
            unfitted=gathered.unfitted,
            warnings=names.all(self._roof.warnings(open_only=False)),
            amendments=names.all(self._roof.amendments()),
            withdrawn=withdrawn,
            seals=names.all(seals),
            entries=names.all(record.entry_counts(self._reader)),
            heads=record.heads(self._reader),
            charts=self._bleed_charts(gathered.strips),
            doubts=gathered.doubts,
            faults=gathered.faults,
            clocks=gathered.clocks,
            unwatched=[work["name"] for work in self._site.unwatched()],
            north_deg=self._site.north_deg(),
            integrity=self._integrity(names, gathered.seams),
            settled=settled,
            start_up=self._start_up(names),
            looks_due=self._upkeep.looks_due(),
            looks=names.all(self._upkeep.looks()),
            punch=names.all(self._stock.punch_list()),
            leaks=self._leaks(names),
            other={t: names.all(self._summing.rows_of(t)) for t in TABLES if t not in _ELSEWHERE},
        )

    def _taken_back(self) -> list[WithdrawnRow]:
        return self._reader.of_job(WithdrawnRow, "ORDER BY withdrawn_utc, tick, device")

    def _integrity(self, names: PeopleNames, seams: list[SeamFacts]) -> list[Tell]:
        """How independent the proof is; names that look alike may be people's."""
        counts = integrity.tell(self._reader, self._marks, seams)
        if names.shown:
            return counts
        return [replace(count, names=()) if count.code == "alike" else count for count in counts]

    def _settled_forks(self, names: PeopleNames) -> list[str]:
        """Forks that somebody settled, in words."""
        return [
            f"{fork.device} {fork.seq}: {fork.done} ({names(fork.by)}, {fork.at[:16]})"
            for fork in verifying.settled_forks(self._reader.reading())
        ]

    def _seals(self, names: PeopleNames) -> list[viewed.HandedSeal]:
        """The seals, without the names of those to whom they were handed."""
        return [{**seal, "handed": names.all(seal["handed"])} for seal in self._sealing.seals()]

    def _start_up(self, names: PeopleNames) -> list[ListLine]:
        """The start-up list, without the names of those who answered."""
        return [
            replace(one, answer=names.mask(one.answer)) if one.answer else one
            for one in self._upkeep.start_up()
        ]

    def _leaks(self, names: PeopleNames) -> list[LeakNow]:
        """Leaks and what was done about them, without names."""
        return [
            replace(leak, row=names.mask(leak.row), steps=names.all(leak.steps))
            for leak in self._upkeep.leaks()
        ]

    def findings_in_full(self, *, people: bool = True) -> Iterator[FindingRow]:
        """Every finding of the job, one after another, in the order they were seen.

        Args:
            people: False puts "person 1", "person 2" for names.
        """
        names = self._people(people)
        yield from map(
            names.mask,
            self._reader.each(
                FindingRow,
                "SELECT * FROM findings WHERE job = ? ORDER BY seen_utc, tick, device",
                (self._reader.job.id,),
            ),
        )

    def _people(self, shown: bool) -> PeopleNames:
        """Names, those on the job's list first, so that free text is searched for them."""
        names = PeopleNames(shown)
        names.all([{"who": name} for name in self._reader.names_in("people")])
        return names

    def _lists(self, names: PeopleNames) -> Lists:
        """The job's lists; people's initials are names too."""
        people: list[PersonRow] = [
            {
                **person,
                "name": names(person["name"]),
                "initials": person["initials"] if names.shown else None,
            }
            for person in self._reader.of_job(PersonRow, AS_LISTED)
        ]
        return {
            "areas": self._reader.of_job(AreaRow, AS_LISTED),
            "sheets": self._reader.of_job(SheetRow, AS_LISTED),
            "machines": self._reader.of_job(MachineRow, AS_LISTED),
            "instruments": self._reader.of_job(InstrumentRow, AS_LISTED),
            "people": people,
        }

    def _traced(
        self, keys: list[str], seams: list[SeamFacts], doubts: Doubts | None
    ) -> list[SeamTrace]:
        """Traces of these seams, in this order, as `trace` gives them."""
        if not keys:
            return []
        rows = self._on_seams.whole(keys)
        listed = {row["seam_key"]: row for row in reversed(self._roof.seams())}
        facts = {s.key: s for s in seams}
        return [
            SeamTrace(
                key=key,
                name=facts[key].name,
                seam=listed.get(key),
                state=facts[key].state,
                flags=list(facts[key].flags),
                disagreements=[
                    self._traces.apart(disagreement) for disagreement in facts[key].disagreements
                ],
                events=self._traces.events(listed.get(key), rows.get(key, NOTHING_WHOLE)),
                doubts=None if doubts is None else of_seam(doubts, key),
            )
            for key in keys
        ]

    def _bleed_charts(self, strips: list[viewed.JudgedStrip]) -> list[BleedChart]:
        """Control charts of the latest go-aheads with two bleed checks or more on their runs."""
        checks = self._sampling.checks_on_go_aheads()
        charted = [s for s in strips if len(checks.get(s["id"], [])) > 1][-MOST_CHARTS:]
        return [self._sampling.charted(s, checks[s["id"]]) for s in charted]


def _without_names(trace: SeamTrace, names: PeopleNames) -> SeamTrace:
    """A trace as it may be handed on: names removed where they are not to be shown."""
    return replace(
        trace,
        disagreements=[names.mask(disagreement) for disagreement in trace.disagreements],
        events=[replace(event, row=names.mask(event.row)) for event in trace.events],
    )
