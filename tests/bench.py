"""A bench block, its inserts, heat and engine, invented, as texts of a case file.

The gas of the plain block is static, on all of the section, so that its load is a peak times a
depth. The ring fills its pocket as drawn, corners and edges: closed forms are of such a one.
"""

GAS = """\
[gas]
peak_pressure = "120 bar"
pressurised_depth = "24 mm"
"""
BLOCK = f"""\
job = "bench block (invented)"
[block]
bore = "80 mm"
barrel_wall = "8 mm"
jacket = "10 mm"
outer_wall = "9 mm"
material = "A356-T6"
{GAS}[section]
mesh = "coarse"
depth = "24 mm"
tolerance = "10 %"
"""
TIES = """\
[[tie]]
clock = "12:00"
width = "8 mm"
depth = "12 mm"
[[tie]]
clock = "6:20"
width = "8 mm"
depth = "12 mm"
"""
LINED = f"""\
job = "bench block (invented)"
[block]
bore = "80 mm"
liner = "2 mm"
liner_material = "grey iron class 30"
barrel_wall = "7 mm"
jacket = "10 mm"
outer_wall = "8 mm"
material = "A356-T6"
{TIES}[[relief_cut]]
clock = "2:15"
radius = "56 mm"
diameter = "18 mm"
depth = "22 mm"
[gas]
peak_pressure = "120 bar"
[section]
mesh = "coarse"
"""
BARE = """\
[[design]]
name = "bare"
"""
RING = """\
[[design]]
name = "ring"
depth = "8 mm"
material = "6061-T6"
corner_radius = "3 mm"
edge_break = "0 mm"
"""
FIT = """\
[design.fit]
interference = "40 um"
tolerance = "4 um"
friction = 0.12
"""
HEAT = """\
[heat]
gas_film = "250 W/(m2 K)"
gas_temperature = "700 degC"
coolant_film = "5000 W/(m2 K)"
coolant_temperature = "90 degC"
joint_conductance = "6000 W/(m2 K)"
[piston_ring]
radial_width = "3.1 mm"
axial_height = "1.2 mm"
youngs_modulus = "160 GPa"
tangential_force = "14 N"
"""
ENGINE = """\
[engine]
stroke = "84 mm"
rod = "140 mm"
compression_ratio = 9.0
speed = "7000 rpm"
intake_pressure = "2 bar"
intake_temperature = "50 degC"
air_fuel_ratio = 12.0
fuel_heating_value = "43 MJ/kg"
top_ring = "6 mm"
"""
