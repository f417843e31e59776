"""What a terminal that knows only ASCII is given in place of other signs.

Invariant: a letter with an ASCII spelling is spelt, a shape stays a shape of
its own; only what has no spelling becomes a question mark. Loaded only where needed.
"""

from __future__ import annotations

import codecs
import unicodedata

NAME = "weldcal.ascii"
_SIGNS = {
    "°": "", "–": "-", "—": "-", "‑": "-", "−": "-", "…": "...", "×": "x", "±": "+/-", "≤": "<=", "≥": ">=",
    "≈": "~", "·": "*", "•": "*", "→": "->", "←": "<-", "‘": "'", "’": "'", "“": '"', "”": '"', "„": '"',
    "«": '"', "»": '"', "⟨": "<", "⟩": ">", "§": "sec. ", "µ": "u", "¿": "", "¡": "", "№": "No. ",
    "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D",
    "ð": "d", "Ð": "D", "þ": "th", "Þ": "Th", "ı": "i",
}  # fmt: skip
_PICTURES = range(0x2400, 0x2420)  # pictures of control signs


def in_ascii(sign: str) -> str:
    """`sign` in ASCII: `é` as `e`, `½` as `1/2`, the picture of escape as `^[`."""
    if sign in _SIGNS:
        return _SIGNS[sign]
    if ord(sign) in _PICTURES:
        return f"^{chr(ord(sign) - _PICTURES.start + 0x40)}"
    parts = unicodedata.normalize("NFKD", sign).replace("\N{FRACTION SLASH}", "/")
    plain = "".join(part for part in parts if part.isascii())
    return plain if plain or unicodedata.combining(sign) else "?"


def _handler(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(in_ascii, error.object[error.start : error.end])), error.end


codecs.register_error(NAME, _handler)
