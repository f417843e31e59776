"""The book with every verb."""

from __future__ import annotations

from weldcal.book.day import Days
from weldcal.book.loading import Loading
from weldcal.book.passports import Passports
from weldcal.book.quick import Quick


class Book(Days, Passports, Loading, Quick):
    """An open book, with every verb."""
