"""A crack in every design alike: its stress intensity by length, and how it grows.

All of the block's own metal cracks as one; the way ends where that ends or gets shallower. Metal
that goes on beyond the mouth, and metal of other parts that is bonded along the way, holds it. The
insert is tied to the metal beside it and not to a floor below it (``tied_at_sides``), as contact
has it, and stays whole. K of what the block carries with no gas (press, heat) comes by
superposition: the stress of the load step along the path, put on the faces. Ten lengths of the
three bundled designs cost 8.3 s of processor time with one numeric thread, load steps included;
with several threads in a busy machine three times that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.faults import CaseError, Refusal, RunError
from cases.base.subject import Chapter, Drawn, Solved, Subject, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.crack.given import CrackInput
    from cases.crack.result import CrackResult


class Crack(Subject):
    """A flaw at the spot that governs, where the case asks for it beside a rating."""

    key = "crack"
    after = ("gas", "stress", "life", "rating")

    def table(self) -> type[Table]:
        """``[crack]``."""
        from cases.crack.table import CrackKeys

        return CrackKeys

    def given(self, table: Any, case: Any, faults: Faults) -> CrackInput | None:
        """Where it starts and by which law it grows."""
        from cases.crack.reading import read_crack

        return read_crack(table, case, faults)

    def look(self, case: Any, drawn: Sequence[Drawn], faults: Faults) -> None:
        """Whether there is metal for it."""
        from cases.crack.given import crack_given
        from cases.crack.place import check_place

        check_place(case, crack_given(case), drawn, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where a rating is, and the case has it."""
        return rate and case.given["crack"] is not None

    def ignored(self, case: Any, rate: bool) -> str:
        """It goes with a rating."""
        if rate or case.given["crack"] is None:
            return ""
        return "[crack] is looked at by hoopclock rate only."

    def stages(self, case: Any) -> Sequence[Usual]:
        """One a design."""
        return (("crack", 2.0),) * len(case.designs)

    def solve(self, work: Work) -> CrackResult | Refusal:
        """The crack in every design; why not, where only what is solved tells that it can't be."""
        from cases.crack.given import crack_given
        from cases.crack.solve import run_cracks

        given = crack_given(work.case)
        try:
            return run_cracks(
                work.case, work.found["gas"], given, work.designs, work.tell, work.executor
            )
        except (CaseError, RunError) as error:
            return Refusal.of(error)

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """Why there is none."""
        found = result.found.get("crack")
        return {"crack_refused": found.text} if isinstance(found, Refusal) else {}

    def data(self, result: Solved, design: Any) -> Mapping[str, Any]:
        """The crack in a design."""
        from cases.crack.data import crack_dict
        from cases.crack.result import crack_of

        found = crack_of(result)
        return {"crack": crack_dict(found, design.name)} if found else {}

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """Stress intensity, growth, and the crack in the section."""
        from cases.crack.figures import crack_figures
        from cases.crack.result import crack_of

        if found := crack_of(result):
            yield from crack_figures(found, result.designs)

    def chapters(self, result: Solved) -> Sequence[Chapter]:
        """What a crack does."""
        from cases.crack.chapter import crack_chapters

        return crack_chapters(result)

    def lines(self, result: Solved) -> Sequence[str]:
        """What a crack does in each design."""
        from cases.crack.lines import crack_lines

        return crack_lines(result)

    def assumed(self, result: Solved) -> Sequence[tuple[str, str]]:
        """Of the crack and its growth."""
        from cases.crack.assumed import crack_assumed

        return crack_assumed(result)


SUBJECT = Crack()
