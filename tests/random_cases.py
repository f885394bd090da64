"""Random fitted blocks as texts of a case file, for studies by hypothesis."""

from dataclasses import replace

from hypothesis import strategies as st
from random_blocks import blocks, inserts, lengths, registers

from geometry.clock import format_clock

ROUNDED = {"corner_radius": lengths(3, 6), "edge_break": lengths(0, 0.8),
           "inside_radius": lengths(0.5, 2.5)}  # fmt: skip
fitted = st.builds(
    lambda insert, more, register: replace(
        insert, **more, zones=insert.zones[:1], slots=insert.slots[:1], register=register
    ),
    inserts.filter(bool),
    st.fixed_dictionaries({}, optional=ROUNDED),
    st.none() | registers,
)
frictions = st.just(0.0) | st.floats(0.05, 0.3).map(lambda mu: round(mu, 2))
fits = st.fixed_dictionaries(
    {"interference": st.integers(-30, 60), "friction": frictions},
    optional={"compound": st.integers(5, 30), "roughness": st.integers(1, 6)},
)
liners = st.none() | st.tuples(st.sampled_from(["pressed", "slip"]), st.integers(0, 60))
small = blocks.map(
    lambda block: replace(
        block,
        bores=min(block.bores, 2),
        ties=block.ties[:3],
        relief_cuts=block.relief_cuts[:2],
    )
)
cases = st.fixed_dictionaries(
    {
        "block": small,
        "insert": fitted,
        "fit": fits,
        "liner": liners,
        "warm": st.booleans(),
        "draft": st.just(0.0) | st.floats(0.2, 2).map(lambda deg: round(deg, 1)),
        "pressure": st.integers(60, 160),
    }
)


def mm(length):
    return f'"{length:.9g} mm"'


def keys(thing, *names):
    """Lines of the lengths that a part states."""
    return "".join(
        f"{name} = {mm(value)}\n" for name in names if (value := getattr(thing, name)) is not None
    )


def clock_line(thing):
    return f'clock = "{format_clock(round(60 * (thing.clock % 12)) / 60)}"\n'


def text_of(drawn):
    """A case file with one fitted design."""
    block, insert, fit = (drawn[key] for key in ("block", "insert", "fit"))
    text = 'job = "random (invented)"\n[block]\nmaterial = "A356-T6"\n'
    text += keys(block, "bore", "barrel_wall", "jacket", "outer_wall", "valley_fillet")
    text += f'bores = {block.bores}\ndraft = "{drawn["draft"]:g} deg"\n'
    if block.bores > 1:
        text += keys(block, "pitch")
    if block.liner:
        text += keys(block, "liner") + 'liner_material = "grey iron class 30"\n'
        if drawn["liner"]:
            joint, held = drawn["liner"]
            text += f'liner_joint = "{joint}"\n'
            text += f'liner_{"interference" if joint == "pressed" else "clearance"} = "{held} um"\n'
    if block.wall_table:
        rows = ", ".join(f'["{format_clock(c)}", {mm(wall)}]' for c, wall in block.wall_table)
        text += f"wall_table = [{rows}]\n"
    for tie in block.ties:
        text += f"[[tie]]\n{clock_line(tie)}" + keys(tie, "width", "depth", "fillet")
    for cut in block.relief_cuts:
        text += f"[[relief_cut]]\n{clock_line(cut)}" + keys(cut, "radius", "diameter", "depth")
    text += f'[gas]\npeak_pressure = "{drawn["pressure"]} bar"\n'
    text += '[section]\nmesh = "coarse"\ntolerance = "10 %"\n'
    if drawn["warm"]:
        text += (
            '[heat]\ngas_film = "220 W/(m2 K)"\ngas_temperature = "700 degC"\n'
            'coolant_film = "6000 W/(m2 K)"\ncoolant_temperature = "95 degC"\n'
            'joint_conductance = "8000 W/(m2 K)"\n'
        )
        if block.liner and drawn["liner"]:
            text += 'liner_conductance = "20000 W/(m2 K)"\n'
    text += '[[design]]\nname = "fitted"\nmaterial = "6061-T6"\n'
    text += f'form = "{insert.form}"\nfills_relief_cuts = {str(insert.fills_relief_cuts).lower()}\n'
    text += keys(insert, "depth", "width", "corner_radius", "edge_break", "inside_radius")
    if "roughness" in fit:
        text += f'roughness = "{fit["roughness"]} um"\n'
    for zone in insert.zones:
        text += f"[[design.zone]]\n{clock_line(zone)}" + keys(zone, "depth")
        text += f'width = "{zone.width:.6g} deg"\nblend = "{zone.blend:.6g} deg"\n'
    for slot in insert.slots:
        text += f"[[design.slot]]\n{clock_line(slot)}" + keys(slot, "width")
        text += f'arc = "{slot.arc:.6g} deg"\n'
    if insert.register:
        text += "[design.register]\n"
        text += keys(insert.register, "depth", "barrel", "outer_wall", "corner_radius")
    sort = "interference" if fit["interference"] >= 0 else "clearance"
    text += f'[design.fit]\n{sort} = "{abs(fit["interference"])} um"\n'
    text += f"friction = {fit['friction']:g}\n"
    if "compound" in fit:
        strong = fit["compound"]
        text += f'[design.compound]\nshear_strength = "{strong} MPa"\n'
        text += f'tensile_strength = "{0.7 * strong:g} MPa"\nlargest_gap = "100 um"\n'
        text += f'hot = [{{ temperature = "200 degC", shear_strength = "{0.5 * strong:g} MPa", '
        text += f'tensile_strength = "{0.3 * strong:g} MPa" }}]\n'
    return text
