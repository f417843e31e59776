"""What services share: how they are made and wired, what recording returns, the job worked on."""

# Not postponed: msgspec and typing take annotations as types, and reading them from text takes time.
from importlib import import_module
from typing import Generic, TypedDict, TypeVar

from msgspec import Struct

from weldcal.views.note import Note as Note
from weldcal.views.note import Values

S = TypeVar("S")


class Service(Struct, eq=False):
    """One theme of the book; its fields are what it is handed, and it holds nothing else."""


class Services:
    """Holds services, each made when first asked for: see `Made`."""

    def handed(self, name: str) -> object:
        """What a service is handed.

        Args:
            name: as the service calls it.
        """
        return getattr(self, name)


def wants(kind: type) -> tuple[str, ...]:
    """What a service is to be handed.

    Args:
        kind: its class.

    Returns:
        names, in the order of its parameters.
    """
    if issubclass(kind, Struct):
        return tuple(field.removeprefix("_") for field in kind.__struct_fields__)
    code = kind.__init__.__code__
    return code.co_varnames[1 : code.co_argcount]


class Made(Generic[S]):
    """A service as an attribute of `Services`: made when first asked for, and kept there.

    It is handed what its fields (else the parameters of its `__init__`) name, and nothing else:
    a test compares their types with those of the attributes so named.
    """

    def __init__(self, module: str) -> None:
        """Say where its class is; which one it is, the annotation says: `Made[Limits]`.

        Args:
            module: of `weldcal.book`.
        """
        self._module = f"weldcal.book.{module}"

    def __set_name__(self, holder: type, name: str) -> None:
        self._name = name
        self._kind = holder.__annotations__[name].removeprefix("Made[").removesuffix("]")

    def kind(self) -> type[S]:
        """Its class."""
        service_class: type[S] = getattr(import_module(self._module), self._kind)
        return service_class

    def __get__(self, holder: Services, of: type) -> S:
        kind = self.kind()
        service = kind(*map(holder.handed, wants(kind)))
        vars(holder)[self._name] = service
        return service


class Named(TypedDict):
    """A record and its short name, or a thing and its name as listed."""

    id: str
    name: str


class NamedSeam(TypedDict):
    """A seam's key and its name as listed."""

    seam_key: str
    name: str


class Recorded(Struct, frozen=True):
    """What was recorded: ids, short name, and notes to show."""

    id: str
    name: str
    notes: tuple[Note, ...] = ()
    values: Values = {}


class CurrentJob(Struct, frozen=True):
    """The job being worked on."""

    id: str
    name: str
    units: str
    zone: str
    day_begins: int
    place: str | None = None
