"""Small blocks whose insert is made: pieces between two ties, and a ring; what a sheet tells."""

import math

CASE = """\
job = "Two pieces (invented)"
[block]
bore = "87 mm"
liner = "2.5 mm"
liner_material = "grey iron class 30"
barrel_wall = "6 mm"
jacket = "9 mm"
outer_wall = "9 mm"
material = "A356-T6"
[[tie]]
clock = "3:00"
width = "8 mm"
depth = "12 mm"
[[tie]]
clock = "9:00"
width = "8 mm"
depth = "12 mm"
[gas]
peak_pressure = "100 bar"
pressurised_depth = "24 mm"
[making]
block_temperature = "20 degC"
[[design]]
name = "bare"
[[design]]
name = "low"
material = "6061-T6"
depth = "6 mm"
[design.fit]
interference = "8 um"
tolerance = "2 um"
friction = 0.15
ties = { clearance = "50 um" }
"""
RING = CASE.replace('depth = "6 mm"', 'depth = "6 mm"\nform = "ring"')
SLOT = '[[design.slot]]\nclock = "12:00"\nwidth = "5 mm"\narc = "20 deg"\n'
ZONE = '[[design.zone]]\nclock = "12:00"\nwidth = "40 deg"\ndepth = "10 mm"\nblend = "10 deg"\n'
REGISTER = '[design.register]\ndepth = "6 mm"\nledge = "1 mm"\n'


def arcs(rows):
    """Loops of a sheet's table of points: what they stand against, where the table says it, and
    of each edge start, end and the height of the arc over half its chord."""
    loops, loop = [], []
    for number, x, y, way, turn, *side in rows:
        loop.append((int(number), complex(float(x), float(y)), way, turn, *side))
        if " to " in turn:
            assert int(turn.rpartition(" ")[2]) == loop[0][0]
            loops.append(loop)
            loop = []
    assert not loop
    found = []
    for corners in loops:
        edges = []
        for (_, start, way, turn, *_), (_, end, *_) in zip(
            corners, [*corners[1:], corners[0]], strict=True
        ):
            half = 0.0 if way == "line" else math.asin(abs(end - start) / 2 / float(way[2:]))
            edges.append((start, end, math.tan(half / 2) * (-1 if "right" in turn else 1)))
        found.append((corners[0][4] if len(corners[0]) > 4 else "", edges))
    return found
