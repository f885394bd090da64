"""Random blocks: each is solved and passes its own checks, or is refused with a reason."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fea import Material, SectionModel, hot_spots, recover, self_checks
from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    ReliefCut,
    SectionError,
    Tie,
    WaterSlot,
    default_depth,
)
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

ALUMINIUM = Material("aluminium", 72_000.0, 0.33)
MATERIALS = {
    "barrel": ALUMINIUM,
    "tie": ALUMINIUM,
    "outer wall": ALUMINIUM,
    "liner": Material("iron", 105_000.0, 0.26),
    "insert": Material("wrought aluminium", 69_000.0, 0.33),
}
BORE = 86.0


def lengths(low, high):
    """Sizes as people write them, and as they don't."""
    whole = st.integers(int(low * 4), int(high * 4)).map(lambda k: k / 4)
    return whole.filter(lambda v: low <= v <= high) | st.floats(low, high)


clocks = st.integers(0, 143).map(lambda k: k / 12) | st.floats(0, 12)
ties = st.builds(
    Tie, clock=clocks, width=lengths(2, 16), depth=lengths(4, 40), fillet=lengths(0.5, 4)
)
reliefs = st.builds(
    ReliefCut,
    clock=clocks,
    radius=lengths(50, 68),
    diameter=lengths(6, 22),
    depth=lengths(4, 40),
)
zones = st.builds(
    DeeperZone,
    clock=clocks,
    width=lengths(5, 90),
    depth=lengths(15.5, 20),
    blend=st.just(0.0) | lengths(1, 20),
)
slots = st.builds(WaterSlot, clock=clocks, width=lengths(2, 6), arc=st.just(0.0) | lengths(2, 30))
inserts = st.none() | st.builds(
    Insert,
    depth=lengths(3, 15),
    width=st.none() | lengths(2, 8),
    zones=st.lists(zones, max_size=2).map(tuple),
    slots=st.lists(slots, max_size=2).map(tuple),
    fills_relief_cuts=st.booleans(),
)
wall_tables = st.just(()) | st.lists(lengths(3, 8), min_size=3, max_size=8).map(
    lambda walls: tuple((12 * k / len(walls), wall) for k, wall in enumerate(walls))
)
blocks = st.builds(
    Block,
    bore=st.just(BORE),
    barrel_wall=lengths(3, 8),
    liner=st.just(0.0) | lengths(1.5, 4),
    wall_table=wall_tables,
    jacket=lengths(4, 14),
    outer_wall=lengths(4, 14),
    ties=st.lists(ties, max_size=5).map(tuple),
    relief_cuts=st.lists(reliefs, max_size=4).map(tuple),
    bores=st.integers(1, 3),
    pitch=lengths(95, 120),
    firing_bore=st.just(1),
    valley_fillet=lengths(0.5, 4),
)


def solve_or_refuse(block, insert):
    try:
        section = DeckSection(block=block, depth=default_depth(block, 20), insert=insert)
        outline = draw_section(section)
    except SectionError as refusal:
        reason = str(refusal)
        outline = None
    if outline is None:
        assert len(reason) > 30
        assert reason.endswith(".")
        return "refused"
    mesh = mesh_outline(outline, element_size=8.0, fineness=1.3)
    line_load = 12.0 * section.depth
    solution = SectionModel(mesh, MATERIALS).solve(line_load)
    stresses = recover(solution)
    self_checks(solution, stresses, line_load)
    assert hot_spots(solution, stresses)[0].principal_mpa > 0
    return "solved"


quiet = settings(
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@settings(quiet, max_examples=60)
@given(blocks, inserts)
def test_a_random_block_is_solved_or_refused(block, insert):
    solve_or_refuse(block, insert)


@pytest.mark.slow
@settings(quiet, max_examples=1000)
@given(blocks, inserts)
def test_a_thousand_random_blocks_are_solved_or_refused(block, insert):
    solve_or_refuse(block, insert)
