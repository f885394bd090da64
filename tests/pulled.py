"""Three rings, each pulled evenly along x: a life whose stress is given, not solved."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
from fea_meshes import ring, uniform

from cases.gas.solve import GasLoad
from cases.life.base import StressCycle
from cases.life.given import Heat, LifeInput
from cases.life.steps import EngineState
from cases.rating.given import Rating
from fea.material import Fatigue, Material
from fea.model import SectionModel
from fea.stress import recover
from geometry.section import Block

WARM, COLD = EngineState.WARM, EngineState.COLD
CAST = Material(
    "cast metal", 70_000.0, 0.33,
    yield_points=((20.0, 200.0), (120.0, 100.0)),
    tensile_points=((20.0, 300.0), (120.0, 150.0)),
    fatigue=Fatigue(strength=90.0, cycles=1e8, exponent=-0.1, scatter=0.1),
    cast=True,
)  # fmt: skip
WROUGHT = replace(CAST, name="wrought metal", cast=False)
USUAL = Rating(casting_quality=0.7, draws=0)
SWT = replace(USUAL, mean_stress="Smith-Watson-Topper")
RINGS = ("barrel", "insert", "liner")
SINGLE = Block(bore=80.0, barrel_wall=10.0)


def uniaxial(stress):
    return np.array([stress, 0.0, 0.0])[:, None]


def case_with(wishes=USUAL, heat=False, held=None, block=SINGLE, **materials):
    """As much of a case as a judge reads."""
    life = LifeInput(heat=Heat(gas=0.1) if heat else None, liner_interference=held)
    of = {"barrel": CAST, "insert": WROUGHT, "liner": WROUGHT, **materials}
    return SimpleNamespace(
        given={"rating": wishes, "life": life}, part_materials=lambda _design: of, block=block
    )


def three_rings():
    """Mesh of the rings and any stress on it."""
    mesh = ring([40, 50, 60, 70], [uniform(part, 20.0) for part in RINGS], 8)
    materials = dict.fromkeys(RINGS, WROUGHT)
    return mesh, recover(SectionModel(mesh, materials).solve(1.0))


class Pulled:
    """A life whose stress grows with the gas in proportion, part by part. [MPa].

    ``states`` holds, by state, temperature [degC] and by part the stress without gas and what the
    gas adds. ``standing`` the stress of the engine that stands cold, by part, of the warm state;
    ``been`` is what cold metal is at when warm [degC].
    """

    def __init__(self, layers, states, load=None, standing=None, been=None):
        self.standing, self.been = standing, been
        self.mesh, self.layers = layers
        self.states, self.told = states, {}
        self.load = load or GasLoad(peak_pressure=12.0, pressurised_depth=20.0)

    def mesh_error(self, spot, engine):
        return self.told.get((spot.part, engine), 0.0)

    def at_gas(self, factor):
        def pulled(pulls, share):
            return tuple(
                replace(layer, stress=np.zeros_like(layer.stress) + uniaxial(sum(
                    part * by for part, by in zip(pulls.get(layer.part, (0, 0)), (1, share),
                                                  strict=True))))
                for layer in self.layers
            )  # fmt: skip

        return tuple(
            StressCycle(
                engine=state,
                idle=pulled(pulls, 0.0),
                gas=pulled(pulls, factor),
                temperature=np.full(len(self.mesh.points), float(warmth)),
                standing=pulled(self.standing, 0.0) if self.standing and state == WARM else None,
                been=None if self.been is None else np.full(len(self.mesh.points), self.been),
            )
            for state, (warmth, pulls) in self.states.items()
        )
