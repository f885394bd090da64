"""An invented block of two bores and readings of its walls, as texts."""

import numpy as np

from geometry.clock import format_clock

TWO = """\
job = "Two bores, as found (invented)"
[block]
bores = 2
firing_bore = 2
pitch = "110 mm"
bore = "80 mm"
barrel_wall = "7 mm"
jacket = "9 mm"
outer_wall = "8 mm"
material = "A356-T6"
[[tie]]
clock = "12:20"
width = "8 mm"
depth = "12 mm"
[[relief_cut]]
clock = "4:45"
radius = "52 mm"
diameter = "15 mm"
depth = "20 mm"
bores = [1]
[gas]
peak_pressure = "100 bar"
pressurised_depth = "24 mm"
[section]
depth = "24 mm"
mesh = "coarse"
"""
LINER = TWO.replace(
    'barrel_wall = "7 mm"',
    'barrel_wall = "7 mm"\nliner = "2 mm"\nliner_material = "grey iron class 30"',
)
HEAD = "bore;clock;depth [mm];wall [mm];method\n"


def wall(clock, mean=7.0, size=0.3, towards=6.0):
    return mean + size * np.cos(np.deg2rad(30 * (clock - towards)))


def lines(bore, mean=7.0, size=0.3, towards=6.0, more=0.0, depth=15.0):
    clocks = [1.0, 2.0, 5.5, 6.0, 7.0, 8.0, 10.0, 11.0]
    return "".join(
        f"{bore};{format_clock(c)};{depth};{wall(c, mean, size, towards) + more:.4f};"
        "ball micrometer\n"
        for c in clocks
    )
