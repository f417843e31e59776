"""Which machine and sheet of a job are which of the firm's.

Invariant: a name that nobody listed is of its own job alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class SheetKey:
    """Which sheet it is for the firm, and of what class: sheets of one class are more alike."""

    key: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Who:
    """A job's names for machines and sheets, as keys of the firm."""

    machines: Mapping[str, str] = field(default_factory=dict)
    sheets: Mapping[str, SheetKey] = field(default_factory=dict)
    other: str = ""

    def machine(self, name: str) -> str:
        """The key of a machine; one nobody listed is of this job (`other`) alone.

        Args:
            name: by the job's list.

        Returns:
            the key.
        """
        return self.machines.get(name, self._unlisted(name))

    def sheet(self, name: str) -> SheetKey:
        """The key of a sheet; one nobody listed is of this job (`other`) alone.

        Args:
            name: by the job's list.

        Returns:
            the key.
        """
        return self.sheets.get(name, SheetKey(self._unlisted(name)))

    def _unlisted(self, name: str) -> str:
        return f"{self.other}:{name}" if self.other else name
