"""The best inserts between given bounds: ``hoopclock search``.

``[search]`` says what is free, what must hold and what is wanted (:mod:`cases.search.table`,
:mod:`cases.search.reading`). A point of that space is a design as a case file states one
(:mod:`cases.search.design`): it is read and drawn as if typed, which takes 0.03 s of processor and
refuses what can't be built, then judged by its solid (:mod:`cases.search.evaluate`). Whole
generations are asked of a kept optimiser (:mod:`cases.search.loop`), every result is kept at once
(:mod:`cases.search.store`), and fine solids judge what may be in front (:mod:`cases.search.seek`).

A task is sent the case as its file has it and one table, some 3 kB for the bundled case, and
answers with half a kilobyte, so that what bounds many workers is neither the wire nor the store,
but the generation: its ``POPULATION`` designs are waited for before the next is asked. Workers
beyond that number idle; ten blocks side by side are ten searches.

A small block of one bore took 14 s of processor by a coarse solid with 50 draws.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cases.base.subject import Subject

if TYPE_CHECKING:
    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.search.given import SearchInput


class Search(Subject):
    """What a search may choose."""

    key = "search"

    def table(self) -> type[Table]:
        """``[search]``."""
        from cases.search.table import SearchKeys

        return SearchKeys

    def given(self, table: Any, case: Any, faults: Faults) -> SearchInput | None:
        """Space, demands and wants, checked."""
        from cases.search.reading import read_search

        return read_search(table, case, faults)

    def ignored(self, case: Any, rate: bool) -> str:
        """That no search was made."""
        from cases.search.given import search_given

        return (
            "[search] is for hoopclock search: nothing was looked for."
            if search_given(case)
            else ""
        )


SUBJECT = Search()
