"""Metals: the library's and the case's own, with the source of every number.

``library.toml`` holds what they are at 20 degC, by process, ``hot.toml`` what is left of their
strengths when hot, by temperature and hours, one table for each way that metal is hardened.
"""

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
