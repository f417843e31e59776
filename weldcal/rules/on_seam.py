"""Which seam a place is on, as people write it: "A3 20ft", "a3, at the drain", "A3".

Invariant: a name counts whole and first; of two that fit, the longer: "A1.1 3ft" is on A1.1, not
on A1.
"""

from __future__ import annotations

from collections.abc import Collection

from weldcal.records.fields import same_name


def seam_of(place: str, keys: Collection[str]) -> str | None:
    """The key of the seam that a place begins with; None where it begins with none.

    Args:
        place: as typed or written.
        keys: of the seams there are.

    Returns:
        the key.
    """
    words = same_name(place).replace(",", " ").replace(":", " ").replace(";", " ").split()
    for n in range(len(words), 0, -1):
        if (key := " ".join(words[:n])) in keys:
            return key
    return None
