"""What is in doubt, where to look for a leak, where faults come from.

Invariant: a finding mended and probed again no longer puts its own place in
doubt, but what was welded around it stays bracketed as it was found.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from weldcal.book.faulting import faults_on_runs, finished_runs
from weldcal.book.sampling import FAILED, Sampling
from weldcal.errors import NoneYet
from weldcal.quality.coverage import SAME_PLACE_M
from weldcal.quality.doubt import BLEED, PEEL, PROBE, Check, Doubts, Welded, bracket, in_doubt
from weldcal.quality.faults import Faults, Work, fault_rates, nameless
from weldcal.quality.history import HAND
from weldcal.quality.leak import INSIDE, ON_ROOF, Candidate, Search, search
from weldcal.rules.cold import warm
from weldcal.rules.welded import by_seam, seconds
from weldcal.words import _

_SEAMS_AT_ONCE = 500
_AT = "name, seam_key, seen_local"
_PROBED = {"void", "fishmouth", "wrinkle", "blister", "other"}


class Doubting(Sampling):
    """The verb `doubt`."""

    def doubt(self) -> Doubts:
        """All that failures put in doubt, in the order of welding, but their own place once mended."""
        with self.snapshot():
            found = bracket(self._welded(), self._checks())
            closed = self._closed()
        left = [
            d
            for d in found.doubts
            if d.failure not in closed or d.length_m > d.failed_m + SAME_PLACE_M
        ]
        return Doubts(tuple(left), found.unplaced)

    def _closed(self) -> set[str]:
        """Names of findings mended and probed again, and of samples whose cut is."""
        job = (self.job.id,)
        findings = self.rows("SELECT name, peel, seam_key FROM findings WHERE job = ?", job)
        peels = {
            row["id"]: row["name"]
            for row in self.rows("SELECT id, name FROM peels WHERE job = ?", job)
        }
        holding: set[str] = set()
        keys = list(dict.fromkeys(row["seam_key"] for row in findings))
        for at in range(0, len(keys), _SEAMS_AT_ONCE):
            for state in self.states_of(keys[at : at + _SEAMS_AT_ONCE]):
                holding |= {*state.open, *state.mended}
        closed = [f for f in findings if f["name"] not in holding]
        return {f["name"] for f in closed} | {
            peels[f["peel"]] for f in closed if f["peel"] in peels
        }

    def seam_names(self) -> dict[str, str]:
        """Seams as people spell them, by key: as listed, else as first typed."""
        names: dict[str, str] = {}
        for row in self.rows(
            "SELECT seam_key, seam FROM runs WHERE job = ? ORDER BY tick", (self.job.id,)
        ):
            names.setdefault(row["seam_key"], row["seam"])
        return {**names, **{row["seam_key"]: row["name"] for row in self.seams()}}

    def strip_names(self) -> dict[str, str]:
        """Short names of strips by id."""
        rows = self.rows("SELECT id, name FROM strips WHERE job = ?", (self.job.id,))
        return {row["id"]: row["name"] for row in rows}

    def _welded(self) -> list[Welded]:
        rows = self.rows(
            "SELECT id, machine, go_ahead, seam_key, start_m, end_m, seen_local FROM runs "
            "WHERE job = ? AND by_hand = 0 ORDER BY seen_utc, tick",
            (self.job.id,),
        )
        return [
            Welded(
                r["id"],
                r["machine"],
                r["go_ahead"],
                r["seam_key"],
                r["start_m"],
                r["end_m"],
                seconds(r["seen_local"]),
            )
            for r in rows
        ]

    def _checks(self) -> list[Check]:
        """Bleed checks by the limits, walks, findings and peel samples, as good or bad."""
        job = (self.job.id,)
        bleeds = self.with_runs(self.rows("SELECT * FROM bleeds WHERE job = ?", job))
        walks = self._cold_walks()
        findings = self.rows(
            f"SELECT {_AT}, start_m, end_m, kind FROM findings WHERE job = ? AND peel IS NULL", job
        )
        peels = self.rows(
            f"SELECT {_AT}, at_m, parted FROM peels WHERE job = ? AND seam IS NOT NULL", job
        )
        found = [
            *(
                _check(c, BLEED, not self.check_shortfalls(c, run), c["at_m"], c["at_m"])
                for c, run in bleeds
            ),
            *(_check(r, PROBE, True, r["start_m"], r["end_m"]) for r in walks),
            *(_check(r, _shows(r["kind"]), False, r["start_m"], r["end_m"]) for r in findings),
            *(_check(r, PEEL, r["parted"] != FAILED, r["at_m"], r["at_m"]) for r in peels),
        ]
        return sorted(found, key=lambda check: check.at_s)

    def _cold_walks(self) -> list[dict[str, Any]]:
        """Walks of laps that were cold: over a warm one a probe says nothing."""
        runs = self.rows(
            "SELECT seam_key, start_m, end_m, seen_utc, tick, finished_utc FROM runs "
            "WHERE job = ? AND end_m IS NOT NULL",
            (self.job.id,),
        )
        welded = by_seam(self.with_cold(runs, "finished_utc"))
        walks = self.rows(
            f"SELECT {_AT}, seen_utc, tick, started_utc, start_m, end_m FROM walks WHERE job = ?",
            (self.job.id,),
        )
        return [w for w in walks if not any(warm(w, r) for r in welded.get(w["seam_key"], []))]

    # -- leaks --------------------------------------------------------------------------

    def leak_order(self, name: str, slope: str | None) -> Search:
        """Where to look for a reported leak: every placed seam, ranked.

        Args:
            name: of the leak, like K1.
            slope: which way water runs: x+, x-, y+ or y-.
        """
        row = self.find(name)
        doubtful = in_doubt(self.doubt().doubts)
        candidates = [
            _candidate(found, found["seam"]["seam_key"] in doubtful)
            for found in self.roof()
            if found["seam"] and found["seam"]["x0_m"] is not None
        ]
        upslope = {"x+": (-1.0, 0.0), "x-": (1.0, 0.0), "y+": (0.0, -1.0), "y-": (0.0, 1.0)}
        seen = INSIDE if row["where"] == "inside" else ON_ROOF
        spot = (row["x_m"], row["y_m"])
        return search(spot, candidates, seen=seen, upslope=upslope[slope] if slope else None)

    # -- faults -------------------------------------------------------------------------

    def fault_rates(self, *, people: bool = True) -> Faults:
        """Fault rate per 100 ft probed by operator, machine, sheet, hour and weather.

        Raises:
            NoneYet: nothing that was welded is probed yet.
        """
        work = self._work()
        if not work:
            raise NoneYet(what=_("probed lap"), then=_("Probe what is welded: weldcal probe SEAM"))
        return fault_rates(work if people else nameless(work))

    def _work(self) -> list[Work]:
        """What of each finished run was probed, with the faults that lie on it."""
        runs = finished_runs(self)
        faults = faults_on_runs(self, runs)
        count = Counter(f["run"]["id"] for f in faults if f["on_probed"])
        return [Work(count[r["id"]], r["probed_m"], _groups(r)) for r in runs if r["probed_m"] > 0]


def _shows(kind: str) -> str:
    """Which check could have seen a finding of a kind: a cold weld only a pull."""
    return PEEL if kind == "cold" else PROBE if kind in _PROBED else BLEED


def _groups(run: dict[str, Any]) -> dict[str, str]:
    """Who and what a run was made with; what nobody noted is left out."""
    groups = {"operator": run["seen_by"], "sheet": run["sheet"]}
    groups["machine"] = run["machine"] or HAND
    groups["hour"] = "morning" if run["hour"] < 12 else "afternoon"
    warm = run["sheet_c"] if run["sheet_c"] is not None else run["ambient_c"]
    if warm is not None:
        groups["weather"] = (
            "below 10 °C" if warm < 10 else "10 to 30 °C" if warm < 30 else "above 30 °C"
        )
    groups["go-ahead"] = "with" if run["go_ahead"] else "without"
    return groups


def _candidate(found: dict[str, Any], doubtful: bool) -> Candidate:
    seam, state, flags = found["seam"], found["state"], found["flags"]
    known = {
        "open_finding": bool(state.open),
        "mended_unprobed": bool(state.mended),
        "unprobed": bool(state.unprobed) or "covered unprobed" in flags,
        "warned": "warned" in flags,
        "in_doubt": doubtful,
        "detail": seam["kind"] == "detail",
        "t_joint": seam["kind"] == "T-joint",
        "self_probed": "probed by its operator" in flags,
    }
    return Candidate(
        found["name"],
        (seam["x0_m"], seam["y0_m"]),
        (seam["x1_m"], seam["y1_m"]),
        frozenset(code for code, true in known.items() if true),
    )


def _check(row: dict[str, Any], kind: str, good: bool, start: float, end: float) -> Check:
    return Check(row["name"], kind, good, row["seam_key"], start, end, seconds(row["seen_local"]))
