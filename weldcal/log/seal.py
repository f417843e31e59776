"""The statement of a seal, and the short code made from it.

Invariant: the code is the first 100 bits of the SHA-256 of the statement's
canonical JSON, in Crockford's base 32, with a last group that catches a slip
in reading or typing. To make another record under the same code takes about
2^100 tries; to mistype it unnoticed, one in a million.
"""

from __future__ import annotations

import hashlib

import rfc8785

from weldcal.errors import Unreadable
from weldcal.records.seal import Seal
from weldcal.words import mark

STATEMENT = 1
_DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1"})
_PAYLOAD, _CHECK, _GROUP = 20, 4, 4


class CodeMistyped(Unreadable):
    """A code that cannot be one: a sign was misread or left out."""

    sentence = mark(
        "{text}: a sign of this seal code is misread or missing. "
        "Type its six groups of four again, like 0000-0000-0000-0000-0000-0000."
    )


def statement(job: str, seal: Seal) -> bytes:
    """The canonical JSON that a seal stands for, and that a signature signs: all that is on its paper."""
    return rfc8785.dumps(
        {
            "weldcal_seal": STATEMENT,
            "job": job,
            "name": seal.name,
            "label": seal.label,
            "at": seal.seen.at,
            "by": seal.seen.by,
            "entries": seal.entries,
            "counts": seal.counts,
            "heads": sorted([head.device, head.seq, head.hash] for head in seal.heads),
        }
    )


def code(message: bytes) -> str:
    """The code of a statement: six groups of four."""
    payload = _base32(hashlib.sha256(message).digest(), _PAYLOAD)
    signs = payload + _check(payload)
    return "-".join(signs[at : at + _GROUP] for at in range(0, len(signs), _GROUP))


def read_code(text: str) -> str:
    """A code as typed or heard: any case, any separators, O for 0, I or L for 1.

    Raises:
        Mistyped: it is no code.
    """
    signs = "".join(sign for sign in text.upper() if sign.isalnum()).translate(_ALIKE)
    payload, check = signs[:_PAYLOAD], signs[_PAYLOAD:]
    if len(signs) != _PAYLOAD + _CHECK or set(signs) - set(_DIGITS) or check != _check(payload):
        raise CodeMistyped(text=text)
    return "-".join(signs[at : at + _GROUP] for at in range(0, len(signs), _GROUP))


def _check(payload: str) -> str:
    return _base32(hashlib.sha256(b"weldcal code " + payload.encode()).digest(), _CHECK)


def _base32(digest: bytes, signs: int) -> str:
    number = int.from_bytes(digest, "big") >> (len(digest) * 8 - signs * 5)
    return "".join(_DIGITS[number >> 5 * place & 31] for place in reversed(range(signs)))
