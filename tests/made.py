"""Small blocks whose insert is made: pieces between two ties, and a ring."""

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
