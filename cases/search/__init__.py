"""The best inserts between given bounds: ``hoopclock search``.

``[search]`` says what is free, what must hold and what is wanted (:mod:`cases.search.table`,
:mod:`cases.search.reading`). A point of that space is a design as a case file states one
(:mod:`cases.search.design`): it is read and drawn as if typed, which takes 0.03 s of processor and
refuses what can't be built, then judged by its solid: many by coarse ones, six interferences with
each factor (:mod:`cases.search.coarse`), what may be in front by fine ones as any case is rated
(:mod:`cases.search.evaluate`). Whole generations are asked of a kept optimiser
(:mod:`cases.search.loop`), every result is kept at once (:mod:`cases.search.store`), and the ratio
of fine to coarse says what may be in front (:mod:`cases.search.seek`).

A task is sent the case as its file has it and a table for each of its designs, some 3 kB for the
bundled case, and answers with half a kilobyte for each, so that what bounds many workers is neither
the wire nor the store, but the generation: its ``POPULATION`` designs, ``FITS`` to a task, are
waited for before the next is asked. Workers beyond that number idle; ten blocks side by side are
ten searches.

Processor time on a loaded machine with two cores: of the bundled case, whose engine heats it, six
interferences of a mesh take 54 s, 9 s a design, and 3.0 GB: 24 s mesh, factor, condensed joint and
heat (1.8 GB of it), 8 s the first fit at two loads and their heats, 4 s each further one. What the
walls do is 47 s, once a search. Another material or depth has no part of the first: its mesh, which
could stay, is a hundredth of it. A fine solid takes up to 6 GB.

That they are judged about the wanted load, not about the limit with all at its middle, is for truth
as well: a joint comes to bear as gas presses, and along a straight line from no gas to a limit 1.96
times the wanted load the weak draws are read 15 % too high (bundled block, 4 and 16 mm deep, 22.5
um: 1.146; 0.998 with the wanted load solved, 0.994 with 0.7 times that too).
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
