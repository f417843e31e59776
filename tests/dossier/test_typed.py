"""The dossier's pages take structs: what nobody filled is found by mypy, not by a reader."""

from __future__ import annotations

import inspect
import typing
from types import ModuleType

import pytest

from weldcal.reports.dossier import (
    beside,
    content,
    days,
    other_records,
    proof,
    rates,
    seals,
    seams,
    totals,
)
from weldcal.views.dossier import Dossier, SeamFacts

PAGES = [beside, content, days, other_records, proof, rates, seals, seams, totals]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.__name__.rpartition(".")[2])
def test_a_page_takes_the_dossiers_own_structs(page: ModuleType) -> None:
    """No function of a page takes the dossier, a seam or seams as anything may come."""
    found = 0
    for name, function in inspect.getmembers(page, inspect.isfunction):
        if function.__module__ != page.__name__:
            continue
        hints = typing.get_type_hints(function)
        for given, wanted in (("d", Dossier), ("seam", SeamFacts)):
            assert hints.get(given, wanted) is wanted, f"{name}({given})"
            found += given in hints
        if "seams" in hints:
            assert typing.get_args(hints["seams"]) == (SeamFacts,), name
            found += 1
    assert found
