"""Knowledge files: what a firm's jobs taught, as numbers. Specified in `shared/knowledge.md`.

Invariant: no name and no place is in one. Names are matched by salted SHA-256, so that a laptop
knows its own machine again, by its jobs or its name; who guesses a name can test the guess, and no more. A file is taken
whole or not at all.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import rfc8785

from weldcal.calibration.knowledge import Knowledge
from weldcal.errors import FileTrouble, NotWritten, reason
from weldcal.log import signing
from weldcal.long_work import atomic_write
from weldcal.records.fields import same_name
from weldcal.views.knowledge import FirmNames, KnowledgeFile
from weldcal.words import _, mark

FORM = 2
LARGEST = 32 * 2**20
_LETTER = {"machine": "m", "sheet": "s", "class": "c", "job": "j"}
_UNHASHED = ("sha256", "key", "signature")


class BadKnowledge(FileTrouble):
    """A knowledge file that is damaged, changed, foreign or newer: refused whole."""

    sentence = mark("{file} was not taken in: {why}. Ask for a new one: weldcal learn FILE")


class NewerKnowledge(BadKnowledge):
    """A knowledge file of a later version: a new one would be refused as well."""

    sentence = mark(
        "{file} was not taken in: a newer weldcal made it (form {form}; this one reads {known}). "
        "Bring this one up to date, then type it again."
    )


@dataclass(frozen=True, slots=True)
class KnowledgeRead(KnowledgeFile):
    """A knowledge file that was read, with the keys of a book's names in it."""

    def keys_of(self, what: str, name: str) -> tuple[str, ...]:
        """The keys of all machines, sheets or classes of that name; none where it has none."""
        return self.names.get(what, {}).get(_hashed(self.salt, what, same_name(name)), ())

    def key_on(self, what: str, job: str, name: str) -> str:
        """The key of the machine or sheet that a job, by its entry's id, calls so; "" for none."""
        hashed = _hashed(self.salt, what, f"{job}:{same_name(name)}")
        return self.called.get(what, {}).get(hashed, "")

    def new_key(self, what: str, name: str) -> str:
        """A key for what the file does not know, of that name; "" for ""."""
        return f"new:{_hashed(self.salt, what, same_name(name))}" if name else ""

    def has_job(self, job: str) -> bool:
        """Whether a job, by the id of its entry, is among those that taught it."""
        return any(taught.key == _hashed(self.salt, "job", job) for taught in self.knowledge.jobs)


def write(
    path: Path,
    knowledge: Knowledge,
    names: FirmNames,
    *,
    made: str,
    program: str,
    key: Path | None = None,
) -> str:
    """Write a knowledge file, whole or not at all; its SHA-256.

    Args:
        names: what the jobs call their machines and sheets, by the keys of `knowledge`.
        made: the day it was made, ISO.
        key: a key file to sign with.

    Raises:
        FileTrouble: it cannot be written, or is there already.
    """
    salt = os.urandom(16).hex()
    plain, renamed = _without_names(knowledge.plain(), salt)
    holds = {
        "weldcal_knowledge": FORM,
        "made": made,
        "program": program,
        "salt": salt,
        **_hashed_names(names, salt, renamed),
        **plain,
    }
    statement = rfc8785.dumps(holds)
    signed = (
        dict(zip(("key", "signature"), signing.sign(key, statement), strict=True)) if key else {}
    )
    digest = hashlib.sha256(statement).hexdigest()
    try:
        with atomic_write(path, fresh=True) as file:
            file.write(rfc8785.dumps({**holds, "sha256": digest, **signed}) + b"\n")
    except FileExistsError:
        raise FileTrouble(file=path, why=_("it is there already; type another name")) from None
    except OSError as error:
        raise NotWritten(file=path, why=reason(error)) from None
    return digest


def read(path: Path, key: str | None = None) -> KnowledgeRead:
    """Read a knowledge file.

    Args:
        key: the public key that must have signed it, hex.

    Raises:
        FileTrouble: it cannot be read; BadKnowledge: it is none, or not as it was made.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except OSError as error:
        raise FileTrouble(file=path, why=reason(error)) from None
    if len(raw) > LARGEST:
        raise BadKnowledge(file=path, why=_("it is too large to be one"))
    try:
        text = raw.decode("utf-8")
    except UnicodeError:
        raise BadKnowledge(file=path, why=_("it is no knowledge file")) from None
    knowledge = of_text(text, path)
    if key is not None and knowledge.signed_by != key.strip().lower():
        raise BadKnowledge(file=path, why=_("it is not signed with that key"))
    return knowledge


def of_text(text: str, file: object) -> KnowledgeRead:
    """The knowledge file of a text; `file` is what a refusal calls it.

    Raises:
        BadKnowledge: it is none, newer, or not as it was made.
    """
    holds = _parsed(text, file)
    form = holds.get("weldcal_knowledge")
    if not isinstance(form, int) or isinstance(form, bool) or form < 1:
        raise BadKnowledge(file=file, why=_("it is no knowledge file"))
    if form > FORM:
        raise NewerKnowledge(file=file, form=form, known=FORM)
    statement = _statement(holds, file)
    digest = hashlib.sha256(statement).hexdigest()
    if digest != holds.get("sha256"):
        raise BadKnowledge(file=file, why=_("it was changed or damaged since it was made"))
    signed_by = str(holds.get("key", ""))
    if ("key" in holds or "signature" in holds) and not (
        signing.possible() and signing.holds(signed_by, str(holds.get("signature", "")), statement)
    ):
        raise BadKnowledge(file=file, why=_("its signature does not hold"))
    try:
        names, called = _names_of(holds, form)
        return KnowledgeRead(
            text,
            form,
            Knowledge.of(holds),
            str(holds["made"]),
            str(holds["program"]),
            digest,
            signed_by,
            str(holds["salt"]),
            names,
            called,
        )
    except (ValueError, TypeError, KeyError, AttributeError):
        raise BadKnowledge(file=file, why=_("its numbers are no knowledge")) from None


def _parsed(text: str, file: object) -> dict[str, Any]:
    def no_such(_sign: str) -> float:
        raise ValueError

    try:
        holds = json.loads(text, parse_constant=no_such)
    except (ValueError, RecursionError):
        holds = None
    if not isinstance(holds, dict):
        raise BadKnowledge(file=file, why=_("it is no knowledge file, or cut short"))
    return holds


def _statement(holds: dict[str, Any], file: object) -> bytes:
    try:
        return rfc8785.dumps({k: v for k, v in holds.items() if k not in _UNHASHED})
    except (rfc8785.CanonicalizationError, ValueError, RecursionError):
        raise BadKnowledge(file=file, why=_("it is no knowledge file")) from None


def _hashed(salt: str, what: str, name: str) -> str:
    """A name as a salted hash: it can be matched, not read."""
    return hashlib.sha256(f"{salt}:{what}:{name}".encode()).hexdigest()[:32]


def _names_of(
    holds: dict[str, Any], form: int
) -> tuple[dict[str, dict[str, tuple[str, ...]]], dict[str, dict[str, str]]]:
    """Of a file read: the keys of each hashed name, and of what each job calls so.

    Form 1 has one key a name, none for a name of several things, and nothing by jobs.
    """
    names: dict[str, dict[str, tuple[str, ...]]] = {}
    for what, hashes in holds["names"].items():
        if not all(isinstance(keys, str if form == 1 else list) for keys in hashes.values()):
            raise ValueError("names")
        names[str(what)] = {
            str(hashed): (keys,) if form == 1 else tuple(map(str, keys))
            for hashed, keys in hashes.items()
        }
    called = holds["called"] if form > 1 else {}
    return names, {
        str(what): {str(hashed): str(key) for hashed, key in hashes.items()}
        for what, hashes in called.items()
    }


class _Renamed:
    """Which key became which letter and number."""

    def __init__(self) -> None:
        self._keys: dict[str, dict[str, str]] = {what: {} for what in _LETTER}

    def short(self, what: str, key: str) -> str:
        """The letter and number of a key; "" for ""."""
        if not key:
            return key
        known = self._keys[what]
        return known.setdefault(key, f"{_LETTER[what]}{len(known) + 1}")


def _hashed_names(names: FirmNames, salt: str, renamed: _Renamed) -> dict[str, Any]:
    """`names` and `called` of a file: every name as a hash, every key short."""
    short = renamed.short
    things = ("machine", "sheet")
    return {
        "names": {
            **{
                what: {
                    _hashed(salt, what, name): sorted(short(what, key) for key in keys)
                    for name, keys in sorted(names.named(what).items())
                }
                for what in things
            },
            "class": {
                _hashed(salt, "class", name): [short("class", name)]
                for name in sorted(names.classes)
            },
        },
        "called": {
            what: {
                _hashed(salt, what, f"{job}:{name}"): short(what, key)
                for (job, name), key in sorted(names.called[what].items())
            }
            for what in things
        },
    }


def _without_names(plain: dict[str, Any], salt: str) -> tuple[dict[str, Any], _Renamed]:
    """Plain knowledge with every key made a letter and a number, jobs as hashes of their ids;
    and which key became which."""
    renamed = _Renamed()
    short = renamed.short

    def level(of: str, at: str, key: str) -> list[str]:
        if at == "class":  # a sheet of no class is one of its own, by its sheet
            own = key.startswith("\0")
            return [of, at, f"\0{short('sheet', key[1:])}" if own else short("class", key)]
        return [of, at, short(at, key) if at in _LETTER else key]

    jobs = [
        [
            _hashed(salt, "job", key),
            [short("machine", m) for m in machines],
            [[short("sheet", s), short("class", kind)] for s, kind in sheets],
            strips,
        ]
        for key, machines, sheets, strips in plain["jobs"]
    ]
    levels = [level(*one) for one in plain["levels"]]
    return {**plain, "jobs": jobs, "levels": levels}, renamed
