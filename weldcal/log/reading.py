"""Entries from elsewhere: a pack's, or those a book holds, before anything rests on them.

Invariant: what is read here is in canonical form, under its own hash, and no more than
`entry.FORMAT` may say.
"""

from __future__ import annotations

import json
import re

import rfc8785

from weldcal.log import entry as entries
from weldcal.records.times import check_time

_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)
_DEVICE = re.compile(r"[0-9a-f]{12}", re.ASCII)
# In compact JSON a number follows one of these; so may some text, which is then looked at itself.
_DOUBTFUL = re.compile(r"[:,\[]-?\d+(?:[.eE]|(?<=\d{16}))", re.ASCII)


def read_entry(body: object, kept_hash: object) -> entries.Entry:
    """An entry from elsewhere, checked in all that can be checked of it alone.

    Raises:
        ValueError: says what was expected and what was found.
    """
    if not isinstance(body, str) or not isinstance(kept_hash, str):
        raise ValueError("not text")
    data = body.encode(errors="replace")
    digest_found = entries.digest(data)
    if digest_found != kept_hash:
        raise ValueError(f"hash {digest_found[:12]}…, expected {kept_hash[:12]}…")
    says = entries.opened(body)
    if says.v != entries.FORMAT:
        raise ValueError(f"format {says.v}, expected {entries.FORMAT}")
    ids = {says.id, says.about} if says.job is None else {says.id, says.about, says.job}
    if not all(map(_ID.fullmatch, ids)) or not _DEVICE.fullmatch(says.device):
        raise ValueError("an id that is none")
    if not (1 <= says.seq <= entries.MOST and 1 <= says.tick <= entries.MOST):
        raise ValueError("a count that cannot be")
    check_time(says.at)
    if _DOUBTFUL.search(body) or body.count("{") + body.count("[") > entries.DEEPEST:
        entries.check_plain(says.payload)
    if not _canonical(says, data):
        raise ValueError("not in canonical form")
    return entries.Entry(body, kept_hash, says)


def _canonical(says: entries.Envelope, data: bytes) -> bool:
    """Whether a body is its own canonical form, by the quick route first.

    For texts within the basic plane, whole numbers and booleans, sorted compact JSON is
    RFC 8785's; beyond it the order of keys may differ, and the library decides.
    """
    if entries.canonical(says) == data and entries.within_plane(data):
        return True
    try:
        return bool(rfc8785.dumps(json.loads(data)) == data)
    except (ValueError, RecursionError):
        return False
