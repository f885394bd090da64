"""The life of a fitted and heated block, load step by load step, from the press to the gas.

A ``Life`` keeps its solved steps, so that it can be asked again: ``at_gas(factor)`` with more gas,
fit and heat held, ``with_interference`` with another fit. In one piece it is solved on the mesh
that the refinement of the section under gas left, and ``error_mpa`` of the steps is the gap of
recovery alone. A fitted one has meshes of its own (:mod:`cases.life.refine`), two at most, and the
errors that their change tells; another fit is solved on the last of them. Heat and contact are
solved by turns until the temperature moves by less than 3 K; where they have not settled after six
turns the run ends with a failure that names design and step. A pair that comes off where it
conducts and touches where it doesn't barely touches, and conducts a part. A warm step takes the
modulus at local temperature; stress is compared with the yield strength there.

A liner that is cast in, which is what counts where nothing is said of it, is one with the barrel.
One that is pressed or slips in has a joint of its own, with an insert's or without. Heat crosses it
where it touches, and through the gas in its gap where it is open; as heat opens and closes it, what
crosses is sought by relaxation, in twelve turns at most.

A fit counts from the pocket as a shop measures it, its liner in: what a liner that is cast in or
pressed has moved the barrel by, found with the insert left out, is none of the press. A pocket that
is measured before its liner goes in is another one.

What presses of an interference is what roughness leaves of it, 0.8 (Rz1 + Rz2) off the diameter
(DIN 7190, from memory), down to none; a stated share of that creeps off with hours hot and is gone
from the warm steps on, so the first pull warm is counted as if it came late. A case without Rz
keeps all of its interference: what a shop leaves is not known, and the report says so. Each piece
is to hold its mass, the integral of thickness times density, against the vibration. An insert that
touches nothing in any step is idle: the block bears all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Drawn, Subject, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.life.given import LifeInput
    from cases.life.result import Service
    from cases.stress.result import CaseResult


class Life(Subject):
    """The load steps of each design that has fit or heat, and what ratings need of any design."""

    key = "life"
    after = ("gas", "stress")
    by_design = True
    long = True
    on_page = True

    def table(self) -> type[Table]:
        """``[heat]`` and ``[piston_ring]``."""
        from cases.life.table import LifeKeys

        return LifeKeys

    def adds(self) -> Mapping[str, type[Table]]:
        """What holds the liner, and the fit of a design."""
        from cases.life.table import FitKeys, LinerKeys

        return {"block": LinerKeys, "design": FitKeys}

    def given(self, table: Any, case: Any, faults: Faults) -> LifeInput:
        """Fits, heat, liner and piston ring."""
        from cases.life.reading import read_life_input

        return read_life_input(table, case, faults)

    def look(self, case: Any, drawn: Sequence[Drawn], faults: Faults) -> None:
        """Whether all heat finds a way out."""
        from cases.life.given import life_given
        from cases.life.ways_out import check_ways_out

        if life_given(case).heat:
            check_ways_out(case, drawn, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where there are load steps, or a rating that sets their stress against strength."""
        return bool(rate or case.given["life"].has_steps)

    def stages(self, case: Any) -> Sequence[Usual]:
        """One."""
        return (("service", 14.0),)

    def solve(self, work: Work) -> Service | None:
        """One design; its life stays at hand for the rating."""
        from cases.life.given import life_given
        from cases.life.read import read_life
        from cases.life.refine import settled_life

        assert work.stage is not None
        with work.stage("service"):
            life = settled_life(
                work.case, work.drawn.design, work.found["stress"], work.found["gas"]
            )
            work.live["life"] = life
            return read_life(life) if life_given(work.case).has_steps else None

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """Load steps, cycles, pieces."""
        from cases.life.data import life_dict
        from cases.life.result import flags_of, is_lived, service_of

        return life_dict(service_of(design), flags_of(design)) if is_lived(design) else {}

    def maps(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Temperature."""
        from cases.life.figures import service_maps

        return service_maps(result.designs)

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Temperature round the bore, contact, and the bore step by step."""
        from cases.life.figures import service_figures
        from cases.life.result import is_lived

        if any(is_lived(design) for design in result.designs):
            yield from service_figures(result.designs)

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """The load steps."""
        from cases.life.chapter import life_chapters

        return life_chapters(result)

    def first_lines(self, result: CaseResult) -> Sequence[str]:
        """What heat does that no one may miss."""
        from cases.life.hot import hot_lines

        return hot_lines(result)

    def lines(self, result: CaseResult) -> Sequence[str]:
        """What the load steps come to."""
        from cases.life.lines import life_lines

        return life_lines(result)

    def limits(self, result: CaseResult) -> Sequence[str]:
        """What of fit and heat is counted."""
        from cases.life.chapter import life_limits

        return life_limits(result)

    def assumed(self, result: CaseResult) -> Sequence[tuple[str, str]]:
        """Of fits, of heat and of the liner."""
        from cases.life.assumed import life_assumed

        return life_assumed(result)


SUBJECT = Life()
