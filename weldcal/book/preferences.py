"""What is kept on this device only: the job used last, who is typing, what was worked out.

Invariant: nothing of it is evidence, and none of it goes into a pack.
"""

from __future__ import annotations

from weldcal.book.core import Service
from weldcal.book.file import BookFile
from weldcal.log import store


class Preferences(Service):
    """Small texts by name."""

    _file: BookFile

    def keep(self, name: str, value: str) -> None:
        """Keep a text on this device.

        Args:
            name: of the preference.
            value: its text.

        Raises:
            BookTrouble: the book cannot be written.
        """
        connection = self._file.writable()
        with store.trouble(self._file.path):
            connection.execute("INSERT OR REPLACE INTO local VALUES (?, ?)", (name, value))
