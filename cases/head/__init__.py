"""The head on the deck: what its bolts clamp, when the gas lifts it, what its gasket holds.

A case that states no head gets no help from one. Where it does, nothing of the other chapters
changes: what the head would do stands beside them, as bounds. Clamp load is that of the bolts about
a bore, those shared with a neighbour by halves; the fire ring has its share of it, the rest lies on
all other metal that reaches the deck. The gas takes its whole force off the clamp load (no share of
it stretches the bolts); what is left at the asked gas is what rubs.

In its plane the deck is solved free, held by friction (:mod:`fea.friction`) and held outright,
cold and in one piece. The section has one plane, so what holds the deck holds all of its depth
here: bounds, not what a block does. A design of the bundled block takes 3 s of processor time, most
of it in 17 factors of 44,000 unknowns.

Beside a rating the head lies on the solid as it is made too (:mod:`cases.head.depth`): heights of
the deck where the gasket seals, steps across the joints, and friction where it acts, on the face.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from cases.base.faults import Refusal
from cases.base.subject import Chapter, Subject, TextTable, Usual, Work

if TYPE_CHECKING:
    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.head.given import HeadInput
    from cases.head.result import DesignHead
    from cases.stress.result import CaseResult


class Head(Subject):
    """What a head does to each design, where the case has one."""

    key = "head"
    after = ("gas", "stress", "life", "solid", "rating")
    by_design = True

    def table(self) -> type[Table]:
        """``[head]``."""
        from cases.head.table import HeadKeys

        return HeadKeys

    def given(self, table: Any, case: Any, faults: Faults) -> HeadInput | None:
        """Bolts, fire ring and gasket."""
        from cases.head.reading import read_head

        return read_head(table, case, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where the case has a head."""
        return case.given["head"] is not None

    def stages(self, case: Any) -> Sequence[Usual]:
        """One."""
        return (("head", 5.0),)

    def solve(self, work: Work) -> DesignHead | Refusal:
        """One design; why not, where friction and gas find no balance."""
        from cases.head.depth import deck_in_depth
        from cases.head.solve import under_head
        from fea.friction import FrictionError

        assert work.stage is not None
        found = work.found
        with work.stage("head"):
            try:
                told = under_head(work.case, found["gas"], found["stress"], found.get("life"))
            except FrictionError as error:
                return Refusal.of(error)
            if lived := work.live.pop("solid", None):
                told = replace(told, in_depth=deck_in_depth(work.case, told, lived))
        return told

    def case_data(self, result: CaseResult) -> Mapping[str, Any]:
        """Clamp load, and the pressure at which the head lifts."""
        from cases.head.data import clamp_dict

        return clamp_dict(result)

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """What the head does to a design."""
        from cases.head.data import head_dict

        found = design.found.get("head")
        if isinstance(found, Refusal):
            return {"head_refused": found.text}
        return {"head": head_dict(result, design, found)} if found else {}

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """What the head does."""
        from cases.head.chapter import head_chapters

        return head_chapters(result)

    def first_lines(self, result: CaseResult) -> Sequence[str]:
        """Whether the head lifts first, and what it takes off an insert's gain."""
        from cases.head.lines import first_lines

        return first_lines(result)

    def lines(self, result: CaseResult) -> Sequence[str | TextTable]:
        """What the head does."""
        from cases.head.lines import head_lines

        return head_lines(result)

    def limits(self, result: CaseResult) -> Sequence[str]:
        """What of a head isn't counted."""
        from cases.head.lines import head_limits

        return head_limits(result)

    def cautions(self, result: CaseResult) -> Sequence[str]:
        """Bolts and honing."""
        from cases.head.lines import head_cautions

        return head_cautions(result)

    def assumed(self, result: CaseResult) -> Sequence[tuple[str, str]]:
        """Usual values of a gasket."""
        from cases.head.given import head_given

        given = head_given(result.case)
        return [(f"head.{key}", words) for key, words in given.assumed] if given else ()


SUBJECT = Head()
