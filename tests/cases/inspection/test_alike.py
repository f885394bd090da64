"""Blocks with readings, turned, mirrored or scaled: the same limits by bore."""

import re

import numpy as np
import pytest
from inspected import HEAD, TWO, wall

from cases import read_case
from cases.run import solve_bores
from geometry.clock import format_clock

pytestmark = pytest.mark.slow
BLOCK = (
    re.sub(r"firing_bore = 2\n", 'valley_fillet = "3 mm"\n', TWO)
    .replace("[section]", '[section]\ntolerance = "1 %"')
    .replace('width = "8 mm"', 'width = "8 mm"\nfillet = "3 mm"')  # said, so that it is scaled
    + "[rating]\ndraws = 0\n"
)
CUT, TIE = "4:30", "12:20"


def stands(folder, *, swapped=False, turned=lambda clock: clock, scale=1.0):
    """Limit by bore of the block, its bores counted from the other end or not, clocks turned."""
    text = BLOCK.replace(CUT, format_clock(turned(4.5))).replace(
        TIE, format_clock(turned(12 + 1 / 3))
    )
    if swapped:
        text = text.replace("bores = [1]", "bores = [2]")
    text = re.sub(r'"([\d.]+) mm"', lambda of: f'"{scale * float(of[1]):g} mm"', text)
    rows = [
        f"{3 - bore if swapped else bore};{format_clock(turned(clock))};{scale * 15:g};"
        f"{scale * wall(clock, mean, size, towards):.5f};{scale * 0.03:g}\n"
        for bore, (mean, size, towards) in {1: (7.0, 0.3, 3.0), 2: (6.4, 0.5, 8.0)}.items()
        for clock in (1.0, 2.0, 5.5, 6.5, 7.0, 8.0, 10.0, 11.0)
        if abs(clock - 4.5) > 0.9
    ]
    (folder / "walls.csv").write_text(HEAD.replace("method", "error [mm]") + "".join(rows))
    (folder / "case.toml").write_text(
        f'{text}[inspection]\nreadings = "walls.csv"\n[[design]]\nname = "bare"\n'
    )
    found = solve_bores(read_case(folder / "case.toml")).found["bores"].by_design["bare"]
    limits = {of.bore: of.factor for of in found}
    assert {of.by for of in found} == {"section"}
    return np.array([limits[2], limits[1]] if swapped else [limits[1], limits[2]])


@pytest.mark.parametrize(
    "alike",
    [
        {"swapped": True, "turned": lambda clock: (clock + 6) % 12},
        {"swapped": True, "turned": lambda clock: (12 - clock) % 12},
        {"scale": 1.4},
    ],
    ids=["turned", "mirrored", "scaled"],
)
def test_limit_by_bore_is_the_same(alike, usual, tmp_path):
    assert stands(tmp_path, **alike) == pytest.approx(usual, rel=0.01)


@pytest.fixture(scope="module")
def usual(tmp_path_factory):
    """Of the block as it is; its two bores differ."""
    found = stands(tmp_path_factory.mktemp("block"))
    assert abs(found[0] / found[1] - 1) > 0.05
    return found
