"""The gas load: pressure by crank angle and depth, from a trace, a peak pressure or an engine.

``WallLoad`` puts a mean cycle on the wall: the pressure of ``PressureCurve``, times the factor,
less the crankcase's, down to the top ring. The section gets one number of it, the largest
q = p min(reach, H) over the crank angle; ``peak_pressure`` is the peak on the wall,
``pressurised_depth`` what makes their product q. A solid gets the angles of ``angles_to_solve``,
and the piston's side thrust of ``thrust_of``. Only a stated ``pressurised_depth`` makes the load
static: all of the peak, at once.

A trace gives its mean cycle, and by the scatter of its peaks the factor on it: mean and three
standard deviations. A stated peak has the shape of an engine's cycle, usual where nothing is
stated.

:func:`cases.gas.cycle.close_in` integrates temperature, work and wall heat over the crank angle
(DOP853, 1e-10), in pieces from valve closing to burn, burn, and to the bottom;
c_v = R / (gamma - 1) of the local temperature, so gamma is never differenced. The burn's curve goes
on past its duration, as in the books' examples. One cycle takes about 35 ms, a wanted power
(``run_engine_for``, any value of a cycle by the intake pressure) about 0.3 s.
Expansion down to the bottom, exhaust at the intake's pressure and charge of the intake's
temperature are simplifications, each said where it is made.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Solved, Subject, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.gas.given import GasInput
    from cases.gas.solve import GasLoad


class Gas(Subject):
    """Found before anything is meshed, so that an engine that can't give its power is refused."""

    key = "gas"
    on_page = True

    def table(self) -> type[Table]:
        """``[gas]`` and ``[engine]``."""
        from cases.gas.table import GasKeys

        return GasKeys

    def given(self, table: Any, case: Any, faults: Faults) -> GasInput:
        """A trace, a peak pressure or an engine."""
        from cases.gas.reading import read_gas

        return read_gas(table, case, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Always."""
        return True

    def solve(self, work: Work) -> GasLoad:
        """The load on the bore wall."""
        from cases.gas.solve import gas_load

        return gas_load(work.case)

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """The load, and where it comes from."""
        from cases.gas.data import pressure_dict
        from cases.gas.solve import gas_of

        gas = gas_of(result)
        return {
            "peak_pressure_mpa": gas.peak_pressure,
            "pressurised_depth_mm": gas.pressurised_depth,
            "line_load_n_per_mm": gas.line_load,
            "pressure": pressure_dict(result.case, gas),
        }

    def data(self, result: Solved, design: Any) -> Mapping[str, Any]:
        """The load that a design is asked to bear."""
        from cases.gas.data import asked_dict
        from cases.gas.solve import gas_of

        return {"pressure": asked_dict(gas_of(result))}

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """Pressure by crank angle and by depth."""
        from cases.gas.figures import gas_figures
        from cases.gas.solve import gas_of

        load = gas_of(result).wall_load
        if load is not None:
            yield from gas_figures(result.case, load)

    def chapters(self, result: Solved) -> Sequence[Chapter]:
        """The load and where it comes from."""
        from cases.gas.chapter import gas_chapter

        return (gas_chapter(result),)

    def lines(self, result: Solved) -> Sequence[str]:
        """The load by crank angle, and what was assumed for it."""
        from cases.gas.lines import gas_lines

        return gas_lines(result)

    def limits(self, result: Solved) -> Sequence[str]:
        """There is no knock model."""
        return ("No knock model: detonation multiplies the peak pressure and is not covered.",)

    def assumed(self, result: Solved) -> Sequence[tuple[str, str]]:
        """Usual values of an engine, and how a sensor reads."""
        from cases.gas.given import all_assumed, gas_given

        return all_assumed(gas_given(result.case))


SUBJECT = Gas()
