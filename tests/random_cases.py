"""Random fitted blocks as texts of a case file: each seed another block, no two of one kind.

Sizes are drawn about those that the trade has, over the bore, and sometimes far from them; numbers
are written as people do, in mm or in fractions and thousandths of an inch.
"""

from dataclasses import dataclass

import numpy as np

CAST = ["A356-T6", "319-T6 sand", "C355-T6", "A390-T6", "AlSi9Cu3 die cast"]
IRON = ["grey iron class 30", "grey iron class 40", "ductile iron 80-55-06"]
WROUGHT = ["6061-T6", "6082-T6", "7075-T6", "2618A-T851"]
INCH = 25.4


@dataclass(frozen=True, eq=False)
class Draw:
    """What is drawn of a seed, and the units that it is written in."""

    rng: np.random.Generator
    inches: bool

    def some(self, share):
        """True in a share of all."""
        return bool(self.rng.random() < share)

    def one(self, *of):
        """One of some things."""
        return of[int(self.rng.integers(len(of)))]

    def size(self, low, high):
        """In quarters or hundredths of a mm, sixteenths or thousandths of an inch. [mm]."""
        value = self.rng.uniform(low, high)
        step = self.one(INCH / 16, 0.001 * INCH) if self.inches else self.one(0.25, 0.01)
        return min(max(round(value / step), 1) * step, max(high, step))

    def length(self, value):
        """A length in quotes. [mm] in."""
        if not self.inches:
            return f'"{value:.6g} mm"'
        whole, parts = divmod(round(value / INCH * 16, 9), 16)
        if parts.is_integer() and parts:
            return f'"{f"{whole:g} " if whole else ""}{parts:g}/16 in"'
        return f'"{value / INCH:.4f} in"'

    def fit(self, microns):
        """A small length in quotes. [um] in."""
        return f'"{microns / INCH:.2f} thou"' if self.inches else f'"{microns:.0f} um"'

    def angle(self, low, high):
        """An angle in quotes, whole or not. [deg]."""
        value = self.rng.uniform(low, high)
        return f'"{round(value) if self.some(0.5) else value:.3g} deg"'

    def clocks(self, many, bores=1):
        """Clock positions, often apart, sometimes wherever they fall. [min].

        Of several bores most of them away from the bores beside.
        """
        if self.some(0.8) and many:
            start = self.rng.uniform(0, 720)
            near = start + 720 / many * (np.arange(many) + self.rng.uniform(-0.25, 0.25, many))
        else:
            near = self.rng.uniform(0, 720, many)
        if bores > 1 and self.some(0.9):
            near = (near % 360 - 180) * 0.5 + 360 * (near % 720 > 360)
        return [int(minutes) % 720 for minutes in near]


def clock(minutes):
    """A clock position in quotes. [min] in."""
    hours, rest = divmod(minutes % 720, 60)
    return f'"{hours or 12}:{rest:02d}"'


def text_of(seed):
    """A case file with one fitted design."""
    rng = np.random.default_rng(seed)
    draw = Draw(rng, inches=bool(rng.random() < 0.3))
    bore = draw.size(60, 120)
    parts = [f'job = "random {seed} (invented)"\n', *_block(draw, bore)]
    parts += [_section(draw, bore), _gas(draw, bore)]
    liner = next((line for line in parts[1].splitlines() if line.startswith("liner_joint")), "")
    parts += [_heat(draw, '"slip"' in liner or '"pressed"' in liner), *_design(draw, bore)]
    return "".join(parts)


def _block(draw, bore):
    """The block, its ties and cuts."""
    wall, jacket = draw.size(0.05 * bore, 0.11 * bore), draw.size(0.06 * bore, 0.15 * bore)
    outer = draw.size(0.06 * bore, 0.16 * bore)
    bores = draw.one(*10 * [1], 2, 2, 2, 3, 4)
    text = f"[block]\nbore = {draw.length(bore)}\nbarrel_wall = {draw.length(wall)}\n"
    text += f"jacket = {draw.length(jacket)}\nouter_wall = {draw.length(outer)}\n"
    text += f'material = "{draw.one(*CAST)}"\nbores = {bores}\n'
    liner = 0.0
    if draw.some(0.6):
        liner = draw.size(0.018 * bore, 0.05 * bore)
        joint = draw.one("", "cast in", "pressed", "pressed", "slip")
        text += f'liner = {draw.length(liner)}\nliner_material = "{draw.one(*IRON)}"\n'
        if joint:
            text += f'liner_joint = "{joint}"\n'
        if joint and (draw.some(0.8) or joint == "pressed"):
            held = draw.rng.uniform(0, {"cast in": 60, "pressed": 80, "slip": 50}[joint])
            word = "clearance" if joint == "slip" else "interference"
            text += f"liner_{word} = {draw.fit(held)}\n"
        if joint in ("pressed", "slip") and draw.some(0.5):
            text += f"liner_friction = {draw.rng.uniform(0, 0.25):.2f}\n"
    if bores > 1:
        barrels = bore + 2 * liner
        pitch = draw.size(barrels + 0.8 * wall, barrels + 2 * wall + draw.one(0.0, jacket, jacket))
        text += f"pitch = {draw.length(pitch)}\nfiring_bore = {draw.rng.integers(1, bores + 1)}\n"
        if draw.some(0.5):
            text += f"valley_fillet = {draw.length(draw.size(1, 5))}\n"
    if draw.some(0.35):
        text += f'draft = "{draw.rng.uniform(0.2, 2):.2g} deg"\n'
    if draw.some(0.25):
        rows = [(c, wall * draw.rng.uniform(0.85, 1.2)) for c in draw.clocks(draw.one(3, 4, 8))]
        shown = ", ".join(f"[{clock(c)}, {draw.length(value)}]" for c, value in sorted(rows))
        text += f"wall_table = [{shown}]\n"
    which = f"bores = [{draw.rng.integers(1, bores + 1)}]\n"
    ties = ""
    for at in draw.clocks(draw.one(0, 1, 2, 2, 3, 4, 4, 5), bores):
        ties += f"[[tie]]\nclock = {clock(at)}\nwidth = {draw.length(draw.size(3, 15))}\n"
        ties += f"depth = {draw.length(draw.size(5, 32))}\n"
        if draw.some(0.8):
            ties += f"fillet = {draw.length(draw.size(0.8, min(4.5, 0.35 * jacket)))}\n"
        ties += which if bores > 1 and draw.some(0.15) else ""
    cuts = ""
    for at in draw.clocks(draw.one(0, 1, 1, 2, 2, 3)):
        left = draw.rng.uniform(0.3, 0.95) * wall
        room = wall - left + jacket
        across = draw.size(0.6 * room, min(room + 0.8 * outer, 0.3 * bore))
        radius = bore / 2 + liner + left + across / 2
        if draw.some(0.15):  # through the outer wall, or in the jacket alone
            radius += draw.rng.uniform(0, jacket + outer)
        cuts += f"[[relief_cut]]\nclock = {clock(at)}\nradius = {draw.length(round(radius, 2))}\n"
        cuts += f"diameter = {draw.length(across)}\ndepth = {draw.length(draw.size(5, 40))}\n"
        cuts += which if bores > 1 and draw.some(0.15) else ""
    return text, ties, cuts


def _section(draw, bore):
    text = f'[section]\nmesh = "{draw.one("coarse", "coarse", "normal")}"\n'
    text += f'tolerance = "{draw.one(2, 4, 10)} %"\n'
    if draw.some(0.2):
        text += f"depth = {draw.length(draw.size(0.25 * bore, 0.45 * bore))}\n"
    return text


def _gas(draw, bore):
    bar = draw.rng.uniform(50, 180)
    peak = f"{bar * 14.5038:.0f} psi" if draw.inches else f"{bar:.0f} bar"
    text = f'[gas]\npeak_pressure = "{peak}"\n'
    if draw.some(0.4):
        text += f"pressurised_depth = {draw.length(draw.size(0.08 * bore, 0.22 * bore))}\n"
    return text


def _heat(draw, has_liner_joint):
    if draw.some(0.4):
        return ""
    text = "[heat]\n"
    if draw.some(0.6):
        text += f'gas_film = "{draw.rng.uniform(100, 350):.0f} W/(m2 K)"\n'
        text += f'gas_temperature = "{draw.rng.uniform(500, 900):.0f} degC"\n'
    else:
        text += f'gas_heat_flux = "{draw.rng.uniform(30, 200):.0f} kW/m2"\n'
    text += f'coolant_film = "{draw.rng.uniform(2000, 12000):.0f} W/(m2 K)"\n'
    text += f'coolant_temperature = "{draw.rng.uniform(70, 105):.0f} degC"\n'
    text += f'joint_conductance = "{draw.rng.uniform(2000, 20000):.0f} W/(m2 K)"\n'
    if has_liner_joint:
        text += f'liner_conductance = "{draw.rng.uniform(5000, 30000):.0f} W/(m2 K)"\n'
    if draw.some(0.3):
        text += f'head_film = "{draw.rng.uniform(200, 2000):.0f} W/(m2 K)"\n'
        text += f'head_temperature = "{draw.rng.uniform(90, 180):.0f} degC"\n'
    if draw.some(0.2):
        text += 'outside_film = "20 W/(m2 K)"\noutside_temperature = "60 degC"\n'
    return text


def _design(draw, bore):
    """The insert, its register, zones, slots, fit and compound."""
    depth = draw.size(3, 0.2 * bore)
    text = f'[[design]]\nname = "fitted"\ndepth = {draw.length(depth)}\n'
    text += f'material = "{draw.one(*WROUGHT)}"\nform = "{draw.one("pieces", "pieces", "ring")}"\n'
    if draw.some(0.3):
        text += f"width = {draw.length(draw.size(0.04 * bore, 0.09 * bore))}\n"
    text += "fills_relief_cuts = false\n" if draw.some(0.3) else ""
    for key, share, low, high in (
        ("corner_radius", 0.25, 3, 6),
        ("edge_break", 0.3, 0.1, 0.8),
        ("inside_radius", 0.3, 0.5, 2.5),
    ):  # fmt: skip
        text += f"{key} = {draw.length(draw.size(low, high))}\n" if draw.some(share) else ""
    if draw.some(0.3):
        text += f"roughness = {draw.fit(draw.rng.uniform(1, 6.5))}\n"
    register = ""
    if draw.some(0.35):
        stands = draw.some(0.4)
        register = "[design.register]\n"
        deep = depth if stands else depth * draw.rng.uniform(0.6, 1.4)
        register += f"depth = {draw.length(deep)}\n"
        if stands:
            register += f"ledge = {draw.length(draw.size(0.4, 1.5))}\n"
        else:
            for key in draw.one(("barrel",), ("outer_wall",), ("barrel", "outer_wall")):
                register += f"{key} = {draw.length(draw.size(0.3, 2))}\n"
        if draw.some(0.6):
            register += f"corner_radius = {draw.length(draw.size(1, 4))}\n"
    zones = ""
    for at in draw.clocks(draw.one(0, 0, 1, 1, 2)):
        zones += f"[[design.zone]]\nclock = {clock(at)}\nwidth = {draw.angle(10, 90)}\n"
        zones += f"depth = {draw.length(depth + draw.size(1, 8))}\n"
        zones += f"blend = {draw.angle(2, 25)}\n" if draw.some(0.6) else ""
    slots = ""
    for at in draw.clocks(draw.one(0, 0, 1, 2)):
        slots += f"[[design.slot]]\nclock = {clock(at)}\n"
        slots += f"width = {draw.length(draw.size(0.015 * bore, 0.04 * bore))}\n"
        slots += f"arc = {draw.angle(4, 30)}\n" if draw.some(0.5) else ""
    return text, register, zones, slots, _fit(draw, bore), _compound(draw)


def _fit(draw, bore):
    word, most = draw.one(*3 * [("interference", 0.6)], ("interference_per_side", 0.3),
                          ("clearance", 0.4))  # fmt: skip
    text = f"[design.fit]\n{word} = {draw.fit(draw.rng.uniform(0, most * bore))}\n"
    text += f"friction = {draw.rng.uniform(0.05, 0.3):.2f}\n" if draw.some(0.75) else ""
    text += f'press_creep = "{draw.rng.integers(5, 40)} %"\n' if draw.some(0.2) else ""
    if draw.some(0.25):
        side = draw.one("barrel", "outer_wall", "ties")
        held = f"clearance = {draw.fit(draw.rng.uniform(0, 40))}"
        text += f"[design.fit.{side}]\n{draw.one(held, held, 'bonded = true')}\n"
    return text


def _compound(draw):
    if not draw.some(0.2):
        return ""
    strong = draw.rng.uniform(4, 35)
    text = f'[design.compound]\nshear_strength = "{strong:.3g} MPa"\nlargest_gap = "100 um"\n'
    text += f'tensile_strength = "{draw.rng.uniform(0.3, 1) * strong:.3g} MPa"\n'
    text += f"friction = {draw.rng.uniform(0.05, 0.2):.2f}\n"
    if draw.some(0.95):
        text += f'hot = [{{ temperature = "220 degC", shear_strength = "{0.5 * strong:.3g} MPa", '
        text += f'tensile_strength = "{0.3 * strong:.3g} MPa" }}]\n'
    return text
