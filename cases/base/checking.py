"""What is wrong in a case file, gathered on the way, so that all of it is told at once."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from pydantic import BaseModel

from cases.base.faults import CaseError, Fault, Location, key_path, order_in, written
from cases.base.tables import Table, quantity_of, range_of, table_at
from geometry.refusals import OutOfRangeError, SectionError, require_between

_Made = TypeVar("_Made")


class Faults:
    """Gathers the faults of one case file.

    Parameters
    ----------
    source : str
        Path of the file.
    raw : dict
        As it was read.
    whole : type
        The schema of the file.
    """

    def __init__(self, source: str, raw: Any, whole: type[Table]) -> None:
        self.source, self.raw, self.whole = source, raw, whole
        self.found: list[Fault] = []
        self.alone: list[Fault] = []  # of those, what is wrong whatever else the file says
        self.locations: list[Location] = []
        self._places: dict[Fault, tuple[int, ...]] = {}

    def add(self, location: Location, text: str, *, alone: bool = False) -> None:
        """A fault at a place of the file; ``alone`` where it is one whatever else the file says."""
        fault = Fault(key_path(location), text, written(self.raw, location))
        if fault not in self.found:
            self.found.append(fault)
            self.locations.append(location)
            self._places[fault] = order_in(self.raw, location)
            if alone:
                self.alone.append(fault)

    def take(self, error: CaseError) -> None:
        """The faults of a refusal; they come last."""
        self.found += [fault for fault in error.faults if fault not in self.found]

    def take_alone(self, other: Faults) -> None:
        """What another reading of the same file found wrong at places where nothing is yet."""
        paths = {fault.path for fault in self.found}
        for fault in other.alone:
            if fault.path not in paths:
                self.found.append(fault)
                self.alone.append(fault)
                self._places[fault] = other._places[fault]

    def attempt(self, location: Location, make: Callable[[], _Made]) -> _Made | None:
        """What ``make`` makes; None, and a fault, where the geometry refuses it."""
        try:
            return make()
        except SectionError as error:
            alone = isinstance(error, OutOfRangeError)
            self.add(self._place(location, error.feature), str(error), alone=alone)
            return None

    def between(
        self, location: Location, value: float, least: float, most: float, unit: str, cure: str = ""
    ) -> None:
        """A fault where a value lies outside of a range."""
        within = location[:-1] if isinstance(location[-2], str) and len(location) == 2 else ()
        name = ".".join([*map(str, within), str(location[-1])])
        self.attempt(location, partial(require_between, name, value, least, most, unit, cure))

    def within(self, location: Location, table: BaseModel, *keys: str) -> None:
        """Faults where values of a table lie outside of the ranges that its schema states.

        Parameters
        ----------
        location : tuple
            Of the table.
        table : pydantic.BaseModel
        *keys : str
            Those to be looked at; all if none is named.
        """
        for name, field in type(table).model_fields.items():
            limits, value = range_of(field), getattr(table, name)
            if limits is None or value is None or (keys and name not in keys):
                continue
            before = len(self.found)
            quantity = quantity_of(field)
            value = quantity.written(value, limits.unit) if quantity else value
            where = (*location, name)
            if limits.above and value == limits.least:
                least = f"{limits.least:g} {limits.unit}".strip()
                self.add(where, f"It must be above {least}. {limits.cure}".strip())
            self.between(where, value, limits.least, limits.most, limits.unit, limits.cure)
            self.alone += self.found[before:]

    def end(self) -> None:
        """Refuse the file if anything was found.

        Raises
        ------
        CaseError
            With the faults in the order of the file.
        """
        if self.found:
            last = (len(self.raw) + 1,)
            raise CaseError(
                self.source, sorted(self.found, key=lambda one: self._places.get(one, last))
            )

    def _place(self, location: Location, feature: str) -> Location:
        """Where in the file a feature of the geometry was stated."""
        root, _, key = feature.partition(".")
        if root == "wall_table":
            return ("block", "wall_table")
        if root == "section":
            location = ("section",)
        table = table_at(self.whole, location)
        if table and key and root in table.model_fields:
            location, table = (*location, root), table_at(self.whole, (*location, root))
        return (*location, key) if table and key in table.model_fields else location
