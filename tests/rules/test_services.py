"""A service is handed, by name, what its fields say: the types are compared here, for mypy cannot."""

import pytest
from msgspec import Struct

from weldcal.book.core import Made, Services, wants
from weldcal.book.recording.recorders import Recorders
from weldcal.book.whole import Book


def services(holder: type[Services]) -> dict[str, type]:
    """The services that a holder makes, by the name of their attribute."""
    return {name: one.kind() for name, one in vars(holder).items() if isinstance(one, Made)}


def wanted(kind: type) -> dict[str, str]:
    """What a service is handed: name and type, as its source says."""
    if issubclass(kind, Struct):
        return {name: kind.__annotations__[f"_{name}"] for name in wants(kind)}
    return {name: kind.__init__.__annotations__[name] for name in wants(kind)}


@pytest.mark.parametrize("holder", [Book, Recorders])
def test_each_service_is_handed_the_types_it_names(holder: type[Services]) -> None:
    given = {**Book.__annotations__, "transactions": Recorders.__annotations__["transactions"]}
    for service, kind in services(holder).items():
        for name, hint in wanted(kind).items():
            if hint.startswith("Callable"):
                assert callable(getattr(Book, name)), (service, name)
            else:
                assert given.get(name) in (hint, f"Made[{hint}]"), (service, name)


def test_both_hold_many_services_and_each_wants_something() -> None:
    kinds = [*services(Book).values(), *services(Recorders).values()]
    assert len(kinds) > 50
    assert all(wants(kind) for kind in kinds)


def test_a_service_is_made_once(tmp_path) -> None:
    book = Book(tmp_path / "book.sqlite")
    assert book.limits is book.limits
    assert book.strips._limits is book.limits
    assert book.recording.strips._strips is book.strips
    book.close()
