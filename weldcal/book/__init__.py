"""The crew's book: one method a verb, one module a person. Also the API for scripts.

from weldcal.book import Book

book = Book("roof.sqlite", by="Ana Ruiz")
for row in book.roof():
    print(row["name"], row["state"].state)
"""

from weldcal.book.core import Note, Recorded
from weldcal.book.dialling import Asked, Curve, Dialled
from weldcal.book.dossier import Dossiers
from weldcal.book.loading import Loading
from weldcal.book.packing import Merged
from weldcal.book.quick import Quick


class Book(Dossiers, Loading, Quick):
    """An open book, with every verb."""


__all__ = ["Asked", "Book", "Curve", "Dialled", "Merged", "Note", "Recorded"]
