"""A subject as it stands: its first entry with what was filled in and corrected since.

Invariant: folding depends on the entries and their order only. Nothing is
lost: corrections that cross are both kept, the later in order holds, and both
are named as a conflict. What was taken back counts for nothing and is named.
"""

from __future__ import annotations

from msgspec import Struct

from weldcal.json_values import Payload
from weldcal.log.entry import Entry, Unopened
from weldcal.records.codec import decode, read
from weldcal.records.notes import NEVER_WITHDRAWN, WITHDRAWN


class Subject(Struct):
    """One thing recorded, as it stands.

    Attributes:
        base: the entry that began it.
        changed: its payload with corrections applied; None until it is needed.
        set_by: path -> id of the entry that last set it.
        filled: later stages (pull, run-finish), in order.
        amendments, settled: (entry, payload) in order.
        conflicts: ids of corrections that replaced the same value.
        gone: id of an entry taken back -> (it, the entry that took it back).
    """

    kind: str
    base: Entry
    changed: Payload | None = None
    set_by: dict[str, str] = {}
    filled: list[tuple[Entry, Payload]] = []
    amendments: list[tuple[Entry, Payload]] = []
    settled: list[tuple[Entry, Payload]] = []
    conflicts: set[str] = set()
    gone: dict[str, tuple[Entry, Entry]] = {}

    @property
    def id(self) -> str:
        """Id of the entry that began it."""
        entry_id: str = self.base.id
        return entry_id

    @property
    def payload(self) -> Payload:
        """The record's payload with corrections applied."""
        if self.changed is None:
            self.changed = dict(self.base.payload)
        return self.changed

    def record(self) -> Struct:
        """The record, with corrections applied (ValueError where it cannot be one)."""
        says, unchanged = self.base.says, self.changed is None
        found: Struct = (
            read(self.kind, says.raw)
            if unchanged and isinstance(says, Unopened)
            else decode(self.kind, self.payload)
        )
        return found

    @property
    def job(self) -> str | None:
        """Id of the job it belongs to; a job belongs to itself."""
        return self.base.job or (self.id if self.kind == "job" else None)

    @property
    def withdrawn(self) -> bool:
        """Whether all of it was taken back."""
        return self.id in self.gone

    @property
    def corrected(self) -> bool:
        """Whether it stands otherwise than it was recorded: what was put back again does not."""
        return bool(self.gone) or any(p["path"] != WITHDRAWN for _entry, p in self.amendments)

    def value(self, path: str) -> object:
        """The payload value at a dotted path, or None."""
        part: object = self.payload
        for key in path.split("."):
            part = part.get(key) if isinstance(part, dict) else None
        return part

    def setter(self, path: str) -> str:
        """Id of the entry that last set the value at `path`."""
        return self.set_by.get(path, self.id)


_STAGES = {"pull", "run-finish", "handed", "hot-work-end", "watch", "punch-done", "leak-step"}


def fold(entries: list[Entry], first: str | None = None) -> Subject | None:
    """Fold a subject's entries, in order; None where its first entry is not known here.

    Args:
        first: hash of the entry that was known first, where a changed copy of it came later.
    """
    if len(entries) == 1:  # most subjects: nothing was filled in or corrected
        (one,) = entries
        if one.says.id != one.says.about:
            return None
        return Subject(kind=one.says.kind, base=one)
    bases = [entry for entry in entries if entry.id == entry.about]
    if not bases:
        return None
    base = next((entry for entry in bases if entry.hash == first), bases[0])
    subject = Subject(kind=base.kind, base=base, gone=_gone(entries))
    if len(bases) > 1:  # ids never collide honestly: both are kept, and shown
        subject.conflicts |= {entry.hash for entry in bases}
    for entry in entries:
        if entry.kind == "amend" and entry.payload["path"] == WITHDRAWN:
            _taken_back(subject, entry)
        elif entry.id == base.id and entry is not base:
            continue  # a changed copy: shown as well, counts for nothing
        elif entry.id in subject.gone and entry is not base:
            if entry.kind == "amend":  # readable still, and without effect
                subject.amendments.append((entry, entry.payload))
        elif entry.kind == "amend":
            _correct(subject, entry)
        elif entry.kind == "settle":
            subject.settled.append((entry, entry.payload))
        elif entry.kind in _STAGES:
            _fill(subject, entry)
    return subject


def _gone(entries: list[Entry]) -> dict[str, tuple[Entry, Entry]]:
    """What was taken back and not put back since: the last said of an entry holds."""
    taken = [e for e in entries if e.kind == "amend" and e.payload["path"] == WITHDRAWN]
    if not taken:
        return {}
    known = {entry.id: entry for entry in entries if entry not in taken}
    last = {entry.payload["of"]: entry for entry in taken}
    return {
        of: (known[of], by)
        for of, by in last.items()
        if by.payload.get("new") is True and of in known and known[of].kind not in NEVER_WITHDRAWN
    }


def _taken_back(subject: Subject, entry: Entry) -> None:
    """Keep a taking or putting back; one that says otherwise than another it did not know of is a conflict."""
    amend = entry.payload
    others = {
        other.id: earlier
        for other, earlier in subject.amendments
        if earlier["path"] == WITHDRAWN and earlier["of"] == amend["of"]
    }
    known = amend["replaces"]
    while (before := others.pop(known, None)) is not None:
        known = before["replaces"]
    for other_id, unknown in others.items():
        if unknown.get("new") is not amend.get("new"):
            subject.conflicts |= {other_id, entry.id}
    subject.set_by[f"{WITHDRAWN}:{amend['of']}"] = entry.id
    subject.amendments.append((entry, amend))


def _fill(subject: Subject, entry: Entry) -> None:
    """Fill in a later stage; a second one is kept, and does not replace the first."""
    if entry.kind == "pull" and not any(e.kind == "pull" for e, _ in subject.filled):
        for key in ("bond", "parted", "bonded_width"):
            if key in entry.payload and key not in subject.set_by:
                subject.payload[key] = entry.payload[key]
                subject.set_by[key] = entry.id
    subject.filled.append((entry, dict(entry.payload)))


def _correct(subject: Subject, entry: Entry) -> None:
    amend = entry.payload
    path = amend["path"]
    for other, earlier in subject.amendments:
        clash = earlier["path"] == path and earlier["replaces"] == amend["replaces"]
        if clash and other.id not in subject.gone:
            subject.conflicts |= {other.id, entry.id}
    stage, _, rest = path.partition(":")
    if rest:
        for filled, payload in subject.filled:
            if filled.kind == stage:
                _set(payload, rest, amend.get("new"))
                break
    else:
        _set(subject.payload, path, amend.get("new"))
    subject.set_by[path] = entry.id
    subject.amendments.append((entry, amend))


def _set(payload: Payload, path: str, value: object) -> None:
    """Set a value at a path; what lies on the way is copied, for the entry's own stays as it is."""
    *parents, last = path.split(".")
    for key in parents:
        part = payload.get(key, {})
        if not isinstance(part, dict):
            raise ValueError(f"no place {path!r} in it")
        payload[key] = payload = dict(part)
    if value is None:
        payload.pop(last, None)
    else:
        payload[last] = value
