"""Random fitted blocks: each is solved or stopped by a named error, and the errors told cover.

A life is solved as any, then once more on a mesh of half the size. Each stress that is shown or
rated in any step is compared with what the finer mesh has at its place. A block counts as covered
where all of them lie within the errors told.

Measured on 43 blocks with 470 stresses: 42 blocks covered, 469 stresses. The one outside is 4.3 %
off with 4.2 % told: a tie beside which the joint opens on the finer mesh alone. Set against the
nearest peak within 3 mm, which may be at another end of contact, it is 41 blocks and 467 stresses.
Four more blocks were stopped by a named error, one was left after 75 s.

Of 58 others, 46 of them drawn by another seed, 51 were solved and seven stopped by a named error:
50 blocks covered, 523 of 524 stresses, the other 1.14 MPa off 103 with as much told. On 28 of these
was chosen what is told beside ends of contact, a quarter less than before; the 13 after them are
covered. Half of all stresses are off by 0.25 % or less, with 3 % told; a fifth is told with an
error above 10 %. A block takes 10 s of processor in the median, 14 in the mean, and 1.3 to be
drawn. All 200 were not run yet.
"""

import os
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from random_blocks import quiet
from random_cases import cases, text_of

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

BLOCKS = 200
COVERED = 0.95
"""Share of the blocks."""


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


def read(text):
    """The case of a text, and the outline of its design; None where it is refused."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_text(text)
        try:
            case = read_case(path)
            return case, draw_section(case.section(case.designs[0]))
        except (CaseError, SectionError):
            return None


def became(text):
    """What became of a block, and of each stress shown: value, error told, and on a finer mesh."""
    case, outline = read(text)
    (design,) = case.designs
    load = gas_load(case)
    try:
        solved = solve_section(case, design, outline, load.line_load)
        life = settled_life(case, design, solved, load)
        if not isinstance(life, FittedLife) or life.stands is None:
            return "idle", []
        finer = load_mesher()(outline, wishes=[sizes_of(life.mesh, 0.5)], **START[case.mesh])
        other = FittedLife(case, design, finer, load, life.fit, life)
    except RunError as error:
        return "stopped" if 'design "fitted"' in str(error) else str(error), []
    rows, steps = [], _different(life)
    spots = [life.stands.hot_spots[step] for step in steps]
    for step, chosen in zip(steps, _that_count(case.block, spots), strict=True):
        stresses = other.stress_of(step)
        rows += [
            (
                spot.principal_mpa,
                spot.error_mpa,
                stress_at(spot, stresses, other.mesh.points),
            )
            for spot in chosen
        ]
    return "solved", rows


class EnoughError(Exception):
    """No more blocks are wanted."""


def texts(many):
    """Blocks that can be drawn, no two alike in jacket and depth of the insert.

    What is drawn in a row differs in little else, and would be one block counted several times.
    """
    found = {}

    @settings(quiet, max_examples=100 * many, phases=[Phase.generate], database=None)
    @given(cases)
    def draw(drawn):
        if len(found) == many:
            raise EnoughError
        alike = drawn["block"].jacket, drawn["insert"].depth
        if alike not in found and read(text := text_of(drawn)):
            found[alike] = text

    with suppress(EnoughError):
        draw()
    assert len(found) == many
    return list(found.values())


@pytest.mark.slow
def test_two_hundred_random_fitted_blocks():
    kinds, covered, off, stresses = Counter(), [], [], 0
    with ProcessPoolExecutor(os.cpu_count()) as workers:
        for kind, rows in workers.map(became, texts(BLOCKS)):
            kinds[kind] += 1
            if rows:
                value, error, finer = np.transpose(rows)
                outside = np.abs(finer - value) > error
                stresses += len(rows)
                covered.append(not outside.any())
                off += [(v, e, f) for v, e, f in np.array(rows)[outside]]
    share = np.mean(covered)
    print(dict(kinds), f"covered {share:.1%} of {len(covered)}", *off, sep="\n")
    assert set(kinds) <= {"solved", "stopped", "idle"}
    assert kinds["solved"] > 0.8 * BLOCKS
    assert np.isfinite(off).all()
    assert share >= COVERED
    assert len(off) <= 0.02 * stresses
