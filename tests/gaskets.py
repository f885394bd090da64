"""A bank of two with an insert, and the two gaskets that it has met (invented)."""

EARLY = """\
name; bore; clock; radius [mm]; shape; width [mm]; arc [deg]; vent
; 1; 1:30; 56; round; 6; ;
; 1; 4:30; 56; round; 6; ;
; 1; 7:30; 56; round; 6; ;
steam; 1; 9:00; 56; round; 3; ; yes
; 1; 10:30; 56; slot; 4; 12;
; 2; 1:30; 56; round; 6; ;
; 2; 4:30; 56; round; 6; ;
; 2; 7:30; 56; round; 6; ;
; 2; 10:30; 56; slot; 4; 12;
"""
LATE = """\
x [mm]; y [mm]; shape; width [mm]; length [mm]; corners [mm]
40; 40; slot; 5; 12;
40; -40; slot; 5; 12;
; ; polygon; ; ; -44 36 / -38 36 / -38 42 / -44 42
-40; -40; round; 7; ;
"""
CASE = """\
job = "Two gaskets (invented)"
[block]
bores = 2
pitch = "97 mm"
firing_bore = 2
bore = "87 mm"
liner = "2.5 mm"
liner_material = "grey iron class 30"
barrel_wall = "6 mm"
jacket = "9 mm"
outer_wall = "9 mm"
material = "A356-T6"
[[tie]]
clock = "12:00"
width = "8 mm"
depth = "12 mm"
[[tie]]
clock = "6:00"
width = "8 mm"
depth = "12 mm"
[gas]
peak_pressure = "100 bar"
pressurised_depth = "24 mm"
[[design]]
name = "bare"
[[design]]
name = "slotted"
material = "6061-T6"
depth = "6 mm"
[[design.slot]]
clock = "1:30"
width = "5 mm"
arc = "8 deg"
[[design.slot]]
clock = "4:30"
width = "5 mm"
[[design.slot]]
clock = "10:30"
width = "4 mm"
arc = "12 deg"
radius = "56 mm"
bores = [2]
"""
GASKETS = """\
[[gasket]]
name = "early"
table = "early.csv"
[[gasket]]
name = "late"
table = "late.csv"
"""


def write_case(folder, *more, case=CASE, gaskets=GASKETS, early=EARLY, late=LATE):
    """A case file with its tables beside it; its path."""
    (folder / "early.csv").write_text(early, encoding="utf-8")
    (folder / "late.csv").write_text(late, encoding="utf-8")
    path = folder / "case.toml"
    path.write_text("".join([case, gaskets, *more]), encoding="utf-8")
    return path
