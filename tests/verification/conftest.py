"""Shared by the verification problems: displacements compared, and the bundled block solved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import cases
from cases.case import Case
from cases.check.sections import Answer
from cases.life.given import under_gas_alone
from cases.read import read_case
from cases.run import solve_case
from cases.stress.result import DesignResult
from geometry.section import DeeperZone


@pytest.fixture(scope="session")
def displacement_error() -> Callable[..., float]:
    """Largest difference of an answer's displacement to a polar field at all nodes.

    Over the field's largest value. Rigid motion, which the holds leave open, is fitted and left
    out.
    """

    def error(answer: Answer, growth: np.ndarray, sliding: np.ndarray | float = 0.0) -> float:
        x, y = answer.points.T
        exact = np.stack([growth * x - sliding * y, growth * y + sliding * x]) / np.hypot(x, y)
        off = (answer.solution.displacement.T - exact).ravel()
        one, none = np.ones_like(x), np.zeros_like(x)
        rigid = np.stack([np.r_[one, none], np.r_[none, one], np.r_[-y, x]], axis=1)
        off -= rigid @ np.linalg.lstsq(rigid, off, rcond=None)[0]
        return np.hypot(*off.reshape(2, -1)).max() / np.hypot(*exact).max()

    return error


@pytest.fixture(scope="session")
def bundled_case() -> Case:
    """The invented block that comes with the project."""
    path = Path(cases.__file__).parent / "library" / "hillclimb_four.toml"
    return under_gas_alone(read_case(path))


@pytest.fixture(scope="session")
def bundled(bundled_case) -> dict[str, DesignResult]:
    """Its designs solved, by name, and "uniform" made 16 mm deep all round or at the cuts alone."""
    designs = {design.name: design for design in bundled_case.designs}
    uniform = designs["uniform"]
    zones = tuple(
        DeeperZone(clock=cut.clock, width=30, depth=16, blend=8)
        for cut in bundled_case.block.relief_cuts
    )
    more = (
        replace(uniform, name="deep all round", insert=replace(uniform.insert, depth=16)),
        replace(uniform, name="deep at the cuts", insert=replace(uniform.insert, zones=zones)),
    )
    case = replace(bundled_case, designs=(*designs.values(), *more))
    return {result.name: result for result in solve_case(case).designs}
