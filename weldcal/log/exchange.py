"""The schema of the exchange file, made from the types that read it.

Invariant: `shared/exchange.schema.json` is this function's output; a test holds
the two together. JSON Schema 2020-12.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import msgspec

from weldcal.log.entry import FORMAT, Envelope
from weldcal.log.pack import PACK, End, EntryLine, Header, PhotoLine
from weldcal.records.codec import KINDS, record_class


def schema() -> dict[str, Any]:
    """One JSON Schema: a line of the pack, the envelope in its `body`, the payload of each kind."""
    lines = [Header, EntryLine, PhotoLine, End]
    records = {kind: record_class(kind) for kind in KINDS}
    _made, parts = msgspec.json.schema_components(
        [*lines, Envelope, *records.values()],
        schema_hook=_number,
        ref_template="#/$defs/{name}",
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"weldcal exchange file, pack {PACK}, entry {FORMAT}",
        "description": (
            "A gzip file of JSON lines: one header, entries in order, photos, one end. "
            "Each line fits `oneOf`. An entry's `body` is the RFC 8785 canonical JSON of an Envelope, "
            "its `hash` the SHA-256 of the body's UTF-8 bytes in hex; `prev` is the hash of the device's "
            "previous entry. `x-payloads` names the form of `payload` for each kind. The end's `sha256` "
            "is of the bytes of all lines before it."
        ),
        "oneOf": [{"$ref": f"#/$defs/{line.__name__}"} for line in lines],
        "x-payloads": {
            kind: {"$ref": f"#/$defs/{record.__name__}"} for kind, record in records.items()
        },
        "$defs": dict(sorted(parts.items())),
    }


def _number(kind: type) -> dict[str, Any]:
    if kind is Fraction:
        return {"type": "string", "pattern": r"^-?\d{1,64}(/[1-9]\d{0,63})?$"}
    raise NotImplementedError(kind)
