"""Metals: the library's and the case's own, with the source of every number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.base.subject import Subject

if TYPE_CHECKING:
    from cases.base.tables import Table


class Materials(Subject):
    """Own metals; whoever names one looks it up in :class:`cases.materials.reading.Materials`."""

    key = "materials"

    def table(self) -> type[Table]:
        """``[material."..."]``."""
        from cases.materials.table import MaterialKeys

        return MaterialKeys


SUBJECT = Materials()
