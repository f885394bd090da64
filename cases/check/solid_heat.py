"""Conduction in a solid whose answer is known; each problem posed once. mm, W and degC."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.check.prisms import grid_solid, plain
from cases.gas.cylinder import ZERO_CELSIUS
from fea.material import Material
from fea.solid.heat import SolidFilm, SolidHeat, SolidTemperature

Array = NDArray[np.float64]

METAL = {"metal": Material("metal", 72_400.0, 0.33, conductivity=0.15)}
IRON = {"metal": Material("metal", 110_000.0, 0.26, conductivity=0.073)}
FIN_HALF, FIN_LENGTH = 4.0, 30.0
FIN_FILM = 2e-3
FIN_WAVE = 0.0572268
"""l of l tan(4 l) = h / k. [1/mm]."""


@dataclass(frozen=True)
class SolidHeatAnswer:
    """A solved problem of conduction, read at its nodes."""

    field: SolidTemperature

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self.field.solver

    def at(self, x: float, y: float, z: float) -> float:
        """Temperature at the node nearest to a place. [degC]."""
        away = ((self.field.mesh.points - [x, y, z]) ** 2).sum(axis=1)
        return float(self.field.temperature[np.argmin(away)])


def fin(fineness: float = 1.0) -> SolidHeatAnswer:
    """A quarter of a square fin, its base at 100 cos(l x) cos(l y), its tip dry."""
    across = np.linspace(0, FIN_HALF, 1 + round(3 * fineness))
    up = np.linspace(-FIN_LENGTH, 0, 1 + round(8 * fineness))
    names = {"u1": "sides", "v1": "sides", "below": "base"}
    mesh = grid_solid("metal", across, across, up, plain, names)

    def base(x: Array, y: Array, _z: Array) -> Array:
        return 100 * np.cos(FIN_WAVE * x) * np.cos(FIN_WAVE * y)

    film = SolidFilm(FIN_FILM, 0.0)
    return SolidHeatAnswer(SolidHeat(mesh, METAL, {"sides": film}, {"base": base}).solve())


def cube(fineness: float = 1.0) -> SolidHeatAnswer:
    """A cube of 1 mm, one face at 60 degC and the others at 0."""
    line = np.linspace(0, 1, 1 + 2 * round(4 * fineness))
    names = {"u0": "a", "u1": "b", "v0": "c", "v1": "d", "below": "e", "above": "hot"}
    mesh = grid_solid("metal", line, line, line - 1, plain, names)
    held = dict.fromkeys("abcde", 0.0) | {"hot": 60.0}
    return SolidHeatAnswer(SolidHeat(mesh, METAL, {}, held).solve())


def engine_wall(fineness: float = 1.0) -> SolidHeatAnswer:
    """A flat wall of 10 mm between burned gas and coolant, 1 mm2 of it."""
    line = np.array([0.0, 1.0])
    up = np.linspace(-10, 0, 1 + 2 * round(fineness))
    mesh = grid_solid("metal", line, line, up, plain, {"below": "water", "above": "gas"})
    films = {
        "gas": SolidFilm(120e-6, 2000 - ZERO_CELSIUS),
        "water": SolidFilm(2200e-6, 373 - ZERO_CELSIUS),
    }
    return SolidHeatAnswer(SolidHeat(mesh, IRON, films).solve())
