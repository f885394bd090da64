import marimo

__generated_with = "0.25.2"
app = marimo.App(width="medium", app_title="Why relief cuts crack", css_file="dials.css")

with app.setup:
    import io
    import math
    import tempfile
    from concurrent.futures import ProcessPoolExecutor
    from functools import lru_cache
    from multiprocessing import get_context
    from pathlib import Path

    import marimo as mo
    import numpy as np
    from matplotlib import rc_context
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, PathPatch, Rectangle
    from matplotlib.tri import Triangulation

    from cases import read_case, solve_case
    from cases.base.figures import STYLE
    from cases.base.parts import PARENT_PARTS
    from cases.stress.result import DesignResult
    from cases.stress.spots import rated_worst
    from cases.stress.traces import barrel_face, plain_wall, stress_at_cut
    from cases.stress.why import crack_direction, place_of
    from cases.verdict.read import verdict_of
    from cases.verdict.words import sentence
    from fea.bore import bore_growth
    from fea.equilibrium import self_checks
    from fea.hotspots import hot_spots
    from fea.material import Material
    from fea.model import SectionModel
    from fea.stress import hoop, recover
    from geometry import Block, DeckSection, Insert, ReliefCut, Tie
    from geometry.clock import clock_to_angle, format_clock
    from geometry.drawing import CUT, INK, WATER, border_path, clock_ring, in_bore_labels, view_of
    from geometry.mesh import mesh_outline
    from geometry.outline import draw_section

    PRESSURE = 15.0  # peak gas pressure [MPa]
    DEPTH = 28.0  # of the section [mm]
    FULL_WALL = 6.0  # barrel wall outside the liner, away from the cut [mm]
    CUT_CLOCK, CUT_DIAMETER = 1.2, 16.0  # [h], [mm]
    WALLS = (1.5, 2.5, 3.75, 5.0, 6.0)  # of the curve [mm]
    START = {"wall": 2.5, "cut": 22, "insert": 0}  # where the sliders stand at first [mm]
    WALL = "#005A8C"  # colour of the wall left
    SCALE = 250.0  # end of the colour scale, the same for every picture [MPa]
    COARSE = 1.6  # element size against the default

    ALUMINIUM = Material("cast aluminium", 72_400, 0.33)
    MATERIALS = {
        "barrel": ALUMINIUM,
        "tie": ALUMINIUM,
        "outer wall": ALUMINIUM,
        "liner": Material("grey iron", 105_000, 0.26),
        "insert": Material("wrought aluminium", 68_900, 0.33),
    }

    # the same block as a case file, bare, with heat and what is not known exactly
    CASE = """
    job = "One barrel (invented)"
    [block]
    bore = "87 mm"
    liner = "2.5 mm"
    liner_material = "grey iron class 30"
    liner_interference = "100 um"
    barrel_wall = "6 mm"
    jacket = "9 mm"
    outer_wall = "12 mm"
    material = "A356-T6"
    {ties}
    [[relief_cut]]
    clock = "1:12"
    radius = "{cut_at} mm"
    diameter = "16 mm"
    depth = "{cut_depth} mm"
    [section]
    depth = "28 mm"
    mesh = "coarse"
    tolerance = "10 %"
    [gas]
    peak_pressure = "{load} bar"
    [heat]
    gas_film = "140 W/(m2 K)"
    gas_temperature = "650 degC"
    coolant_film = "6000 W/(m2 K)"
    coolant_temperature = "90 degC"
    joint_conductance = "8000 W/(m2 K)"
    [rating]
    hours_hot = "100 h"
    draws = 100
    [[design]]
    name = "bare"
    """
    TIES = "".join(
        f'[[tie]]\nclock = "{clock}"\nwidth = "8 mm"\ndepth = "12 mm"\n'
        for clock in ("12:00", "3:12", "6:06", "8:54")
    )

    # a page runs its cells in a thread, and the mesher wants a process of its own
    MESHER = ProcessPoolExecutor(1, mp_context=get_context("spawn"))


@app.cell(hide_code=True)
def _():
    mo.md("""
    # Why do relief-cut areas crack?

    A ring under pressure passes one and the same hoop force through every section of its wall. A
    relief cut is a round pocket about a bolt, from the deck; where it reaches into the barrel, that
    force passes a smaller section, set off from the wall's middle, so it bends it too. Move the
    sliders: the wall left, the depth of the cut, an insert behind it.

    *The block is invented, not a real engine: one bore of 87 mm, an iron liner of 2.5 mm, 6 mm of
    aluminium wall around it, an open jacket with four ties, one relief cut of 16 mm at 1:12, and
    150 bar in the bore.*
    """)
    return


@app.cell(hide_code=True)
def _():
    wall_left = mo.ui.slider(
        1.5, FULL_WALL, 0.25, value=START["wall"], show_value=True, full_width=True,
        label="Wall left at the relief cut [mm], of 6 mm",
    )  # fmt: skip
    cut_depth = mo.ui.slider(
        4, 26, 2, value=START["cut"], show_value=True, full_width=True,
        label="Depth of the relief cut, from the deck down [mm]",
    )  # fmt: skip
    insert_depth = mo.ui.slider(
        0, 20, 2, value=START["insert"], show_value=True, full_width=True,
        label="Depth of an insert all round the jacket [mm], 0 is bare",
    )  # fmt: skip
    mo.vstack([wall_left, cut_depth, insert_depth])
    return cut_depth, insert_depth, wall_left


@app.cell(hide_code=True)
def _(cut_depth, insert_depth, wall_left):
    section = cut_section(wall_left.value, cut_depth.value, insert_depth.value)
    result = solved([section])[0]
    times_plain = cut_stress(result) / plain_stress()
    return result, times_plain


@app.cell(hide_code=True)
def _(result):
    mo.callout(mo.md(in_words(result)), kind="warn")
    return


@app.cell(hide_code=True)
def _(result):
    _worst = rated_worst(result, PARENT_PARTS)
    mo.image(
        field_picture(result),
        alt=f"hoop stress, worst {_worst.clock}, {_worst.principal_mpa:.0f} MPa", width="100%",
    )  # fmt: skip
    return


@app.cell(hide_code=True)
def _():
    mo.md("""
    ## The thinner the wall, the harder it is pulled

    The plain wall is the same block, bare, with no relief cut: its outer face, away from the ties.
    """)
    return


@app.cell(hide_code=True)
def _(cut_depth, insert_depth, times_plain, wall_left):
    at_start = sweep(START["cut"], START["insert"])
    curve = sweep(cut_depth.value, insert_depth.value)
    bare_times_plain = (
        sweep(cut_depth.value, 0, (wall_left.value,))[0] if insert_depth.value else times_plain
    )
    return at_start, bare_times_plain, curve


@app.cell(hide_code=True)
def _(at_start, curve, cut_depth, insert_depth, times_plain, wall_left):
    mo.image(
        curve_picture(
            curve, at_start, wall_left.value, times_plain, cut_depth.value, insert_depth.value
        ),
        alt=f"{wall_left.value:g} mm left, {times_plain:.2f} times the plain wall", width="100%",
    )  # fmt: skip
    return


@app.cell(hide_code=True)
def _(bare_times_plain, cut_depth, insert_depth, times_plain, wall_left):
    if insert_depth.value:
        _saved = 100 * (1 - times_plain / bare_times_plain)
        _text = (
            f"Bare, the {wall_left.value:g} mm left at this cut would be pulled "
            f"**{bare_times_plain:.1f} times** as hard as the plain wall. The insert, "
            f"{insert_depth.value} mm deep, takes part of the gas force over to the outer wall: "
            f"**{_saved:.0f} % of the stress at the cut is gone.**"
        )
    else:
        _text = (
            f"This is the bare block with a cut {cut_depth.value} mm deep. Give it an insert to "
            "see how much of that force it takes over."
        )
    mo.md(_text)
    return


@app.cell(hide_code=True)
def _():
    mo.md("""
    ## What that cut costs in load

    The bare block with this cut, rated: cold and warm, against fatigue, yield and break, with
    what is not known exactly drawn 100 times. *Quick: by the section, a mean over the depth;
    `hoopclock rate` does it in depth. What a fitted insert carries: `compare_inserts.py`.*
    """)
    return


@app.cell(hide_code=True)
def _():
    load = mo.ui.slider(
        60, 250, 10, value=150, debounce=True, show_value=True, full_width=True,
        label="Load wanted: peak gas pressure [bar]",
    )  # fmt: skip
    load
    return (load,)


@app.cell(hide_code=True)
def _(cut_depth, load, wall_left):
    verdict = rated(wall_left.value, cut_depth.value, load.value)
    mo.callout(
        mo.md(sentence(verdict)),
        kind={"holds": "success", "marginal": "warn"}.get(verdict.choice.status, "danger"),
    )
    return (verdict,)


@app.cell(hide_code=True)
def _(result):
    mo.accordion(
        {
            "What is behind the numbers, and what they can't tell": mo.md(
                f"""
    - The picture is a slice that stands for the top {DEPTH:g} mm of the block. At every place it
      has the depth of metal that is really there, and the stress is the mean over that depth. Just
      below an insert that is shallower than the cut, the true peak is about 1.5 times as high.
    - The gas pushes on the bore with {PRESSURE:g} MPa ({10 * PRESSURE:g} bar) over the whole
      {DEPTH:g} mm. In picture and curve an insert is one with the block: no fit, no gap, no
      heat. The load that is carried is that of the bare block, with heat.
    - "Worst" is the strongest pull anywhere in the block's own metal; the liner is left out. A
      crack opens across the strongest pull.
    - This section has {result.solution.displacement.size} unknowns. Its self-checks: hold reactions
      {result.checks.reaction_ratio:.0e} of the gas load, force across the section
      {result.checks.cut_force_ratio:.4f} of what it must be.
    - These are estimates for comparing one cut with another, not a certificate. Casting quality,
      porosity and machining decide real life: measure, sonic-test and pressure-test the block.
      Where a rating matters to safety, have a licensed engineer check it.
    """
            )
        }
    )
    return


@app.function
def cut_section(wall_left, cut_depth, insert_depth):
    """The invented block; a relief cut that leaves nothing of its depth is no cut. All in mm."""
    liner = 2.5
    cut = ReliefCut(
        clock=CUT_CLOCK, radius=87 / 2 + liner + wall_left + CUT_DIAMETER / 2,
        diameter=CUT_DIAMETER, depth=max(cut_depth, 0.1),
    )  # fmt: skip
    block = Block(
        bore=87, liner=liner, barrel_wall=FULL_WALL, jacket=9, outer_wall=12,
        ties=tuple(Tie(clock=clock, width=8, depth=12) for clock in (0.0, 3.2, 6.1, 8.9)),
        relief_cuts=(cut,) if cut_depth else (),
    )  # fmt: skip
    insert = Insert(depth=insert_depth) if insert_depth else None
    return DeckSection(block=block, depth=DEPTH, insert=insert)


@app.function
def case_text(wall_left, cut_depth, load):
    """The same block, bare, as a case file. mm, mm, bar."""
    cut_at = 87 / 2 + 2.5 + wall_left + CUT_DIAMETER / 2
    return CASE.format(ties=TIES, cut_at=cut_at, cut_depth=cut_depth, load=load)


@app.function
@lru_cache
def rated(*setting):
    """The verdict on the bare block; kept."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_text(case_text(*setting), encoding="utf-8")
        case = read_case(path)
    return verdict_of(MESHER.submit(solve_case, case, rate=True).result())


@app.function
def solved(sections):
    """Each section meshed in the child process while the one before it is solved here."""
    outlines = [draw_section(section) for section in sections]
    meshes = [MESHER.submit(mesh_outline, outline, fineness=COARSE) for outline in outlines]
    results = []
    for section, outline, meshing in zip(sections, outlines, meshes, strict=True):
        mesh = meshing.result()
        solution = SectionModel(mesh, MATERIALS).solve(PRESSURE * DEPTH)
        stresses = recover(solution)
        results.append(
            DesignResult(
                name="with insert" if section.insert else "bare", section=section, outline=outline,
                mesh=mesh, solution=solution, stresses=stresses,
                hot_spots=hot_spots(solution, stresses), bore=bore_growth(solution),
                checks=self_checks(solution, stresses, PRESSURE * DEPTH),
                open_area_mm2=outline.open_area, insert_area_mm2=outline.insert_area, seconds={},
            )
        )  # fmt: skip
    return results


@app.function
def cut_stress(result):
    """Largest principal stress at the relief cut. [MPa]."""
    return stress_at_cut(result, result.section.block.relief_cuts[0], 1)


@app.function
@lru_cache
def plain_stress():
    """Hoop stress on the outer face of the bare barrel without a cut, clear of the ties. [MPa]."""
    result = solved([cut_section(FULL_WALL, 0, 0)])[0]
    face = barrel_face(result)
    return float(np.median(face.hoop_mpa[plain_wall(result.section.block, face)]))


@app.function
@lru_cache
def sweep(cut_depth, insert_depth, walls=WALLS):
    """Stress at the cut over that of the plain wall, for each wall left [mm]; kept."""
    sections = [cut_section(wall, cut_depth, insert_depth) for wall in walls]
    return tuple(cut_stress(result) / plain_stress() for result in solved(sections))


@app.function
def wall_at_cut(block):
    """Barrel wall left between the pocket and the liner. [mm]."""
    cut = block.relief_cuts[0]
    return round(cut.radius - cut.diameter / 2 - block.liner_radius, 9)


@app.function
def in_words(result):
    """What the picture says, in the words of the shop."""
    stress, plain = cut_stress(result), plain_stress()
    block, insert = result.section.block, result.section.insert
    wall_left = wall_at_cut(block)
    worst = rated_worst(result, PARENT_PARTS)
    place = place_of(block, worst)
    if wall_left < FULL_WALL:
        left = f"**{wall_left:g} mm of the {FULL_WALL:g} mm wall is left at the cut.**"
    else:
        left = f"**The cut only touches the barrel: the full {FULL_WALL:g} mm wall is left.**"
    backing = f", backed by an insert {insert.depth:g} mm deep," if insert else ""
    pull = (
        f"The metal there{backing} is pulled **{stress / plain:.1f} times** as hard as the plain "
        f"bare wall ({stress:.0f} MPa against {plain:.0f} MPa)."
    )
    if place.startswith("relief cut"):
        in_floor = worst.radius_mm > block.liner_radius + wall_left + 0.5
        where = "in the floor of the pocket" if in_floor else "in the thin wall"
        way = {
            "radial": "straight through the wall, in line with the bore's centre",
            "slanting": "on a slant through the wall",
            "around the bore": "around the bore, along the wall",
        }[crack_direction(worst).words]
        end = (
            f"It is the worst place of the block: {worst.clock}, {where}. A crack would start "
            f"there and run {way}."
        )
    else:
        end = (
            f"The cut is no longer the worst place: that is the {place}, "
            f"{worst.principal_mpa:.0f} MPa at {worst.clock}."
        )
    return f"{left} {pull} {end}"


@app.function
def png(figure):
    """A figure as a picture."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=130, facecolor="white")
    return buffer.getvalue()


@app.function
def field_picture(result):
    """Hoop stress near the cut and over the whole section, worst place marked."""
    block = result.section.block
    cut = block.relief_cuts[0]
    view = view_of(block)
    border = border_path(result.outline, view)
    angle = float(clock_to_angle(cut.clock))
    outward = np.array([math.cos(angle), math.sin(angle)])
    centre, half = outward * (cut.radius - 6), 22.0
    with rc_context(STYLE):
        figure = Figure(figsize=(10.4, 6.3))
        near = figure.add_axes((0.01, 0.15, 0.54, 0.8))
        whole = figure.add_axes((0.58, 0.15, 0.41, 0.8))
        for axes in (near, whole):
            shades = draw_hoop(axes, result)
            axes.add_artist(PathPatch(border, fill=False, edgecolor=INK, linewidth=0.8))
            axes.set(xticks=[], yticks=[], aspect="equal")
        near.set_xlim(centre[0] - half * 1.12, centre[0] + half * 1.12)
        near.set_ylim(centre[1] - half, centre[1] + half)
        whole.set_xlim(-view.half_width, view.half_width)
        whole.set_ylim(-view.half_height, view.half_height)
        whole.add_artist(
            Rectangle(centre - half * np.array([1.12, 1]), 2.24 * half, 2 * half, fill=False,
                      edgecolor=INK, linestyle="--")
        )  # fmt: skip
        clock_ring(whole, block.bore / 2, every=3)
        near.set_title(f"the relief cut at {format_clock(cut.clock)}, looking down on the deck")
        whole.set_title("the whole section; dashed: the picture on the left")
        near.add_artist(
            Circle(cut.radius * outward, cut.diameter / 2, fill=False, edgecolor=CUT,
                   linestyle=(0, (4, 2)), linewidth=1.2)
        )  # fmt: skip
        near.text(*(cut.radius + 3) * outward, "relief cut", color=CUT, fontsize=10, ha="center")
        name_parts(near, result.section)
        mark_wall(near, block, outward)
        worst = rated_worst(result, PARENT_PARTS)
        mark_worst(near, worst)
        at, stress = (worst.x_mm, worst.y_mm), f"{worst.clock}\n{worst.principal_mpa:.0f} MPa"
        in_bore_labels(whole, [at], [f"worst: {stress}"], block.bore / 2, size=10)
        bar = figure.colorbar(
            shades, cax=figure.add_axes((0.2, 0.1, 0.6, 0.022)), orientation="horizontal",
            extend="both",
        )  # fmt: skip
        bar.set_label("hoop stress [MPa]: red is pulled around the bore, blue is pressed")
        return png(figure)


@app.function
def draw_hoop(axes, result):
    """Hoop stress of every part, an insert over the floor of the cut as seen from the deck."""
    block = result.section.block
    axes.add_artist(Circle((0, 0), block.outside_radius, color=WATER, linewidth=0))
    for layer in sorted(result.stresses, key=lambda layer: layer.part == "insert"):
        x, y = result.mesh.points[layer.nodes].T
        quarters = layer.triangles[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]]].reshape(-1, 3)
        shades = axes.tripcolor(
            Triangulation(x, y, quarters), hoop(layer.stress, x, y), shading="gouraud",
            cmap="RdBu_r", vmin=-SCALE, vmax=SCALE,
        )  # fmt: skip
    axes.add_artist(Circle((0, 0), block.bore / 2, color="white", linewidth=0))
    return shades


@app.function
def name_parts(axes, section):
    """Names of the parts along the left side of the cut, and of the pocket."""
    block, clock = section.block, CUT_CLOCK - 0.78
    angle = float(clock_to_angle(clock))
    jacket = "insert" if section.insert else "water jacket"
    for inside, outside, name in (
        (block.bore / 2, block.liner_radius, "liner"),
        (block.liner_radius, block.barrel_radius, "barrel wall"),
        (block.barrel_radius, block.jacket_radius, jacket),
        (block.jacket_radius, block.outside_radius, "outer wall"),
    ):
        radius = (inside + outside) / 2
        axes.text(
            radius * math.cos(angle), radius * math.sin(angle), name, fontsize=10, ha="center",
            va="center", rotation=math.degrees(angle) - 90, clip_on=True,
        )  # fmt: skip


@app.function
def mark_wall(axes, block, outward):
    """The wall left at the cut, with its size written in the bore."""
    wall_left = wall_at_cut(block)
    inside, outside = block.liner_radius * outward, (block.liner_radius + wall_left) * outward
    axes.plot(*np.array([inside, outside]).T, color=WALL, linewidth=7, solid_capstyle="butt")
    axes.annotate(
        f"wall left\n{wall_left:g} mm", inside, outward * (block.bore / 2 - 9), ha="center",
        va="center", fontsize=12, fontweight="bold", color=WALL,
        arrowprops={"arrowstyle": "-", "color": WALL, "shrinkA": 18},
    )  # fmt: skip


@app.function
def mark_worst(axes, worst):
    """Clock position and stress, and a dashed line along the crack that would start here."""
    at = np.array([worst.x_mm, worst.y_mm])
    across = math.radians(worst.principal_angle_deg + 90)
    way = FULL_WALL * np.array([math.cos(across), math.sin(across)])
    end = at - way * np.sign(way @ at)
    axes.plot(*np.array([at, end]).T, color="black", linewidth=2, linestyle=(0, (2, 1)))
    axes.plot(*at, "o", markersize=9, markerfacecolor="white", markeredgecolor="black")
    axes.annotate(
        f"worst: {worst.clock}\n{worst.principal_mpa:.0f} MPa\ndashed: the crack to expect", at,
        (34, -50), textcoords="offset points", fontsize=10, annotation_clip=True,
        bbox={"boxstyle": "square,pad=0.3", "facecolor": "white", "edgecolor": INK},
        arrowprops={"arrowstyle": "-", "color": INK},
    )  # fmt: skip


@app.function
def curve_picture(curve, at_start, wall_left, times_plain, cut_depth, insert_depth):
    """Wall left against stress at the cut over that of the plain wall."""
    same = (cut_depth, insert_depth) == (START["cut"], START["insert"])
    walls, times = zip(
        *sorted({**dict(zip(WALLS, curve, strict=True)), wall_left: times_plain}.items()),
        strict=True,
    )

    def named(cut, insert):
        return f"cut {cut} mm deep, " + (f"insert {insert} mm deep" if insert else "bare")

    with rc_context(STYLE):
        figure = Figure(figsize=(10.4, 4.2), layout="constrained")
        axes = figure.add_subplot()
        if not same:
            began = named(START["cut"], START["insert"]) + ", as at first"
            axes.plot(WALLS, at_start, "o--", color="#999999", markersize=4, label=began)
        now = named(cut_depth, insert_depth)
        axes.plot(walls, times, "o-", color="#0072B2", markersize=4, label=now)
        axes.axhline(1, color=INK, linewidth=0.8)
        axes.annotate("plain wall", (WALLS[-1], 1), (0, -4), textcoords="offset points",
                      ha="right", va="top")  # fmt: skip
        axes.plot(wall_left, times_plain, "o", color="#D55E00", markersize=11)
        axes.annotate(
            f"{wall_left:g} mm left: {times_plain:.1f} times", (wall_left, times_plain), (12, 8),
            textcoords="offset points", fontsize=11, fontweight="bold", color="#A03000",
            ha="right" if wall_left > 4.5 else "left",
            bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"},
        )  # fmt: skip
        axes.set_xlim(1.3, FULL_WALL + 0.2)
        axes.set_ylim(0, 1.12 * max(*curve, *at_start, times_plain))
        axes.set_xlabel("wall left at the relief cut [mm]")
        axes.set_ylabel("stress at the cut,\ntimes that of the plain wall")
        axes.grid(color="#DDDDDD", linewidth=0.6)
        axes.spines[["top", "right"]].set_visible(False)
        axes.legend(loc="upper right")
        return png(figure)


if __name__ == "__main__":
    app.run()
