"""What words say of the power: a run that ended for want of it ends its go-ahead.

Invariant: nothing said of the power passes by in silence; only words that say no more than
that it was lost count for it.
"""

from __future__ import annotations

import re

from weldcal.numbers_said import unaccented

# What crews call it, in English and Spanish (common practice, no source).
_LOST = frozenset(
    [
        "power lost",
        "lost power",
        "power was lost",
        "power loss",
        "loss of power",
        "no power",
        "power out",
        "power off",
        "power cut",
        "power went",
        "power went out",
        "power failed",
        "power failure",
        "power outage",
        "outage",
        "blackout",
        "breaker tripped",
        "tripped breaker",
        "corte de energia",
        "corte de luz",
        "corte de corriente",
        "sin energia",
        "sin luz",
        "sin corriente",
        "se fue la energia",
        "se fue la luz",
        "se fue la corriente",
        "falta de corriente",
        "apagon",
    ]
)
_OF_POWER = frozenset(
    [
        "power",
        "outage",
        "blackout",
        "breaker",
        "generator",
        "energia",
        "luz",
        "corriente",
        "electricidad",
        "generador",
        "interruptor",
        "apagon",
    ]
)
_BEFORE = frozenset(["the", "hubo", "un", "el", "la"])


def power_said(text: str | None) -> bool | None:
    """Whether words say that the power was lost.

    Args:
        text: why a run ended, or was corrected, as typed.

    Returns:
        True: just that; None: they speak of the power, and a person has to say; False: they
        do not.
    """
    words = re.findall(r"[a-z]+", unaccented(text or ""))
    while words and words[0] in _BEFORE:
        words.pop(0)
    if " ".join(words) in _LOST:
        return True
    return None if _OF_POWER & set(words) else False
