"""Random fitted blocks: each is solved or stopped by a named error, and the errors told cover.

A life is solved as any, then once more on a mesh of half the size. Each stress that is shown or
rated in any step is compared with what the finer mesh has at its place. A block counts as covered
where all of them lie within the errors told.

Earlier blocks, which were more alike (bores of 86 mm, the first of two firing), were covered in 50
of 51, and 523 of 524 stresses. Of the 24 drawn here 21 are solved and 3 stopped with a name. 14 of
the 21 were covered until what grows beside ends of bonds and on junctions was marked; of 17 of them
solved since 15 are. The two: a barrel off by 0.56 MPa with 0.54 told, and compound that breaks on
the finer mesh alone, as its law is local. Of 16 other blocks (seeds 101 to 231), the three whose
compound led to what is told of it among them, all are. Of 17 more (seeds 300 to 358) 16 are, one
of them since its second mesh is made as fine as the most allows where it would be larger; the other
is off by 1.04 MPa of a liner with 0.62 told, and by 1.55 of a barrel that hardly pulls with 0.33.
A block takes 3 to 94 s of processor, one in the checks 176.
"""

import re
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from itertools import count, islice
from pathlib import Path

import numpy as np
import pytest
from random_cases import text_of

from cases.base.faults import CaseError, RunError
from cases.gas.solve import gas_load
from cases.life.life import FittedLife
from cases.life.refine import _different, _that_count, settled_life
from cases.read import read_case
from cases.stress.solve import START, load_mesher, solve_section
from fea.adaptive import sizes_of
from fea.hotspots import APART
from fea.stress import extremes
from geometry import SectionError
from geometry.outline import draw_section

BLOCKS = 24
"""Of the study as a test; ``study(range(...))`` takes any."""
COVERED = 0.95
"""Share of the blocks."""
MOST_FINER = 500_000
"""Unknowns of the mesh of half the size; a block that would have more is not compared."""


@dataclass(frozen=True)
class Became:
    """What became of a block, and of each stress shown: value, error told, and on a finer mesh."""

    seed: int
    kind: str  # "solved", "idle", "stopped" by a named error, "large", or what went wrong
    words: str = ""
    shown: tuple[tuple[float, float, float], ...] = ()  # about the bore that fires, shown or rated
    listed: tuple[tuple[float, float, float], ...] = ()  # all others of results.json
    seconds: float = 0.0  # of the processor

    def outside(self, rows):
        """Those whose finer value is off by more than was told."""
        return [row for row in rows if not abs(row[2] - row[0]) <= row[1]]

    def __str__(self):
        off = self.outside(self.shown)
        words = f"{self.seed:5d} {self.kind:8s} {len(self.shown) - len(off)} of {len(self.shown)}"
        others = self.outside(self.listed)
        words += f", listed {len(self.listed) - len(others)} of {len(self.listed)}"
        words += f" {self.seconds:.0f} s {self.words}"
        return words + "".join(f"\n      {v:.2f} +- {e:.2f} finer {f:.2f}" for v, e, f in off)


def stress_at(spot, stresses, points):
    """Largest principal stress of a part at a spot's place on another mesh. [MPa].

    Within two of the spot's own elements: its mesh knows the place no better.
    """
    found = []
    for layer in stresses:
        away = np.hypot(*(points[layer.nodes] - [spot.x_mm, spot.y_mm]).T)
        close = away <= max(2 * spot.size_mm, away.min())
        if layer.part == spot.part and away.min() < APART:
            found.append(extremes(layer.stress)[0][close].max())
    return max(found)


def read(seed):
    """The case of a seed, and the outline of its design; None where it is refused."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_text(text_of(seed))
        try:
            case = read_case(path)
            return case, draw_section(case.section(case.designs[0]))
        except (CaseError, SectionError):
            return None


NAMED = re.compile(r'design "fitted", .*\d+:\d\d', re.DOTALL)
"""What an error must say: of which design, and where."""


def became(seed, tell=None):
    """Solve a block as any, and once more on a mesh of half the size."""
    start = time.process_time()
    case, outline = read(seed)
    (design,) = case.designs
    load = gas_load(case)
    try:
        solved = solve_section(case, design, outline, load.line_load)
        life = settled_life(case, design, solved, load)
    except RunError as error:
        kind = "stopped" if NAMED.search(str(error)) else "unnamed"
        return Became(seed, kind, str(error), seconds=time.process_time() - start)
    if not isinstance(life, FittedLife) or life.stands is None:
        return Became(seed, "idle", seconds=time.process_time() - start)
    finer = load_mesher()(outline, wishes=[sizes_of(life.mesh, 0.5)], **START[case.mesh])
    if 2 * len(finer.points) > MOST_FINER:
        return Became(seed, "large", f"{2 * len(finer.points)} unknowns")
    try:
        other = FittedLife(case, design, finer, load, life.fit, life)
    except RunError as error:
        return Became(seed, "finer", str(error), seconds=time.process_time() - start)
    shown, listed, steps = [], [], _different(life)
    spots = [life.stands.hot_spots[step] for step in steps]
    for step, all_of, chosen in zip(steps, spots, _that_count(case.block, spots), strict=True):
        stresses = other.stress_of(step)
        for spot in all_of:
            if not spot.sharp:
                finer_mpa = stress_at(spot, stresses, other.mesh.points)
                row = spot.principal_mpa, spot.error_mpa, finer_mpa
                (shown if spot in chosen else listed).append(row)
                if tell and not abs(row[2] - row[0]) <= row[1]:
                    tell(step, spot, finer_mpa, spot in chosen)
    words = f"{life.stands.unknowns} {life.stands.stopped}"
    return Became(seed, "solved", words, tuple(shown), tuple(listed), time.process_time() - start)


def drawable():
    """Seeds whose block can be drawn, in order."""
    return (seed for seed in count() if read(seed) is not None)


@pytest.mark.slow
@pytest.mark.xfail(reason="15 of 17 blocks are covered, where 95 in 100 are to be", strict=True)
def test_random_fitted_blocks():
    found = []
    for seed in islice(drawable(), BLOCKS):
        found.append(became(seed))
        print(found[-1], flush=True)
    kinds = Counter(one.kind for one in found)
    compared = [one for one in found if one.shown]
    off = [row for one in compared for row in one.outside(one.shown)]
    share = np.mean([not one.outside(one.shown) for one in compared])
    assert set(kinds) <= {"solved", "stopped", "idle", "large"}
    assert kinds["solved"] > 0.8 * BLOCKS
    assert np.isfinite(off).all()
    assert share >= COVERED
    assert len(off) <= 0.02 * sum(len(one.shown) for one in compared)
