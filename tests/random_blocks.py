"""Random blocks and inserts as people write them, and as they don't, for tests by hypothesis."""

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from fea import Material
from geometry import Block, DeeperZone, Insert, Register, ReliefCut, Tie, WaterSlot

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
registers = st.builds(
    Register,
    depth=lengths(4, 18),
    barrel=st.just(0.0) | lengths(0.3, 3),
    outer_wall=st.just(0.0) | lengths(0.3, 3),
    corner_radius=lengths(0.5, 4),
)
inserts = st.none() | st.builds(
    Insert,
    depth=lengths(3, 15),
    width=st.none() | lengths(2, 8),
    zones=st.lists(zones, max_size=2).map(tuple),
    slots=st.lists(slots, max_size=2).map(tuple),
    fills_relief_cuts=st.booleans(),
    form=st.sampled_from(["pieces", "ring"]),
    register=st.none() | registers,
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

quiet = settings(
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
