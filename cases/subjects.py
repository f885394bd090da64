"""The one list of subjects, in the order in which they are solved and told."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from cases import (
    block,
    bores,
    coolant,
    crack,
    depth,
    fit,
    gas,
    gasket,
    head,
    inspection,
    life,
    making,
    materials,
    rating,
    record,
    search,
    slots,
    solid,
    stress,
    verdict,
)
from cases.base.subject import Subject

if TYPE_CHECKING:
    from cases.base.tables import Table

PACKAGES = (
    block, materials, inspection, gas, coolant, gasket, stress, life, solid, rating, bores, fit,
    head, depth, crack, slots, record, making, verdict, search,
)  # fmt: skip
SUBJECTS: tuple[Subject, ...] = tuple(package.SUBJECT for package in PACKAGES)


@cache
def case_table(subjects: tuple[Subject, ...] = SUBJECTS) -> type[Table]:
    """The schema of a whole case file.

    Raises
    ------
    ValueError
        If two subjects have the same key.
    """
    from cases.base.tables import file_table

    tables = [table for subject in subjects if (table := subject.table())]
    added = [(key, more) for subject in subjects for key, more in subject.adds().items()]
    return file_table(tables, added)
