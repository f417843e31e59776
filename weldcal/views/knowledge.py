"""What a page shows of a knowledge file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from weldcal.calibration.knowledge import Knowledge


@dataclass(frozen=True, slots=True)
class KnowledgeFile:
    """A knowledge file: its text, what it holds, and who signed it (hex, or "")."""

    text: str
    knowledge: Knowledge
    made: str
    program: str
    digest: str
    signed_by: str
    salt: str
    names: Mapping[str, Mapping[str, str]]
