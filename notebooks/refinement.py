import marimo

__generated_with = "0.25.2"
app = marimo.App(width="medium", app_title="What refinement buys", css_file="dials.css")

with app.setup:
    import io
    import tempfile
    from concurrent.futures import ProcessPoolExecutor
    from functools import lru_cache
    from multiprocessing import get_context
    from pathlib import Path

    import marimo as mo
    import numpy as np
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    from cases import read_case
    from cases.base.figures import STYLE
    from cases.gas.solve import gas_load
    from fea.adaptive import adapt
    from fea.hotspots import hot_spots
    from fea.model import SectionModel
    from fea.stress import recover
    from geometry.mesh import mesh_outline
    from geometry.outline import draw_section
    from geometry.sizing import SizeWishes

    BLOCK = """
    job = "One barrel (invented)"
    [block]
    bore = "87 mm"
    liner = "2.5 mm"
    liner_material = "grey iron class 30"
    liner_interference = "100 um"
    barrel_wall = "6 mm"
    jacket = "9 mm"
    outer_wall = "10 mm"
    material = "A356-T6"
    [[tie]]
    clock = "4:11"
    width = "8 mm"
    depth = "12 mm"
    [[tie]]
    clock = "8:14"
    width = "8 mm"
    depth = "12 mm"
    [[relief_cut]]
    clock = "1:41"
    radius = "56.5 mm"
    diameter = "16 mm"
    depth = "22 mm"
    [gas]
    peak_pressure = "100 bar"
    [[design]]
    name = "bare"
    """
    SIZES = (20.0, 10.0, 7.0, 5.0, 4.0, 3.75, 3.5, 3.25, 3.0, 2.5)  # [mm]
    TOLERANCES = (0.5, 0.3, 0.2, 0.1, 0.05, 0.02)

    # a page runs its cells in a thread, and the mesher wants a process of its own
    MESHER = ProcessPoolExecutor(1, mp_context=get_context("spawn"))


@app.cell(hide_code=True)
def _():
    mo.md("""
    # How many unknowns does the worst root need?

    One barrel of an invented block, bare: the stress at the root of its relief cut, on meshes of
    one element size everywhere, and on meshes that the solution itself asked for. *Uniform* means
    one plain size with no wish for walls, fillets or cuts; short edges of the drawing still make
    smaller elements, in both. The adaptive path starts from the coarsest of them and refines for
    the worst spot alone; each of its points is where one tolerance ended.

    Of a bare block under gas alone, the load that it carries goes as one over this stress: an error
    here is about the same error in what the verdict says it carries.
    """)
    return


@app.cell(hide_code=True)
def _():
    exact = root_on(None)[1]
    uniform = [root_on(size) for size in SIZES]
    adaptive = [root_adapted(tolerance) for tolerance in TOLERANCES]
    return adaptive, exact, uniform


@app.cell(hide_code=True)
def _():
    goal = mo.ui.slider(
        0.5, 10, 0.5, value=1, show_value=True, full_width=True,
        label="Error at the root that will do [%]",
    )  # fmt: skip
    goal
    return (goal,)


@app.cell(hide_code=True)
def _(adaptive, exact, goal, uniform):
    needed = {
        "uniform": enough(uniform, exact, goal.value),
        "adaptive": enough(adaptive, exact, goal.value),
    }
    share = needed["adaptive"] / needed["uniform"]
    return needed, share


@app.cell(hide_code=True)
def _(adaptive, exact, goal, uniform):
    mo.image(
        picture(uniform, adaptive, exact, goal.value),
        alt="error at the root against unknowns", width="100%",
    )  # fmt: skip
    return


@app.cell(hide_code=True)
def _(goal, needed, share):
    mo.md(
        f"To stay within {goal.value:g} %: {needed['uniform']:,} unknowns with one size, "
        f"{needed['adaptive']:,} on the adaptive path, a share of {share:.2f}."
    )
    return


@app.function
@lru_cache
def bare():
    """Outline of the bare block, its materials and its line load."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_text(BLOCK, encoding="utf-8")
        case = read_case(path)
    (design,) = case.designs
    return draw_section(case.section(design)), case.part_materials(design), gas_load(case).line_load


@app.function
def one_size(size):
    """A wish for one element size all over the section."""
    starts = np.array([piece.start for piece in bare()[0].pieces])
    x, y = (
        np.arange(at.min() - 25, at.max() + 25, 2.0) for at in (starts.real, starts.imag)
    )  # the outline bulges beyond its corners
    places = (x[:, None] + 1j * y).ravel()
    return SizeWishes(places, np.full(len(places), size), grading=1.0)


@app.function
def mesh_at(wishes):
    return MESHER.submit(mesh_outline, bare()[0], wishes=wishes, roundness=1.0).result()


@app.function
def solve(mesh):
    _, materials, load = bare()
    return SectionModel(mesh, materials).solve(load)


@app.function
def root_on(size):
    """Unknowns, and stress at the worst root on a mesh of one size; on a very fine one for None."""
    if size is None:
        mesh = MESHER.submit(mesh_outline, bare()[0], fineness=0.6).result()
    else:
        mesh = mesh_at([one_size(size)])
    solution = solve(mesh)
    worst = hot_spots(solution, recover(solution))[0]
    return 2 * len(mesh.points), worst.principal_mpa


@app.function
def root_adapted(tolerance):
    """The same where the adaptive path ends."""
    start = [one_size(SIZES[0])]
    adapted = adapt(lambda wishes: mesh_at(wishes or start), solve, tolerance, worst=1)
    return adapted.passes[-1].unknowns, adapted.hot_spots[0].principal_mpa


@app.function
def enough(path, exact, goal):
    """Unknowns from which on a path stays within an error [%]."""
    off = [unknowns for unknowns, value in path if 100 * abs(value / exact - 1) > goal]
    return min(unknowns for unknowns, _ in path if unknowns > max(off, default=0))


@app.function
def picture(uniform, adaptive, exact, goal):
    with rc_context(STYLE):
        figure = Figure(figsize=(7, 4), layout="constrained")
        axes = figure.subplots()
        for path, name, style in (
            (uniform, "one size everywhere", "o-"),
            (adaptive, "adaptive", "s-"),
        ):
            unknowns, values = np.array(path).T
            axes.loglog(unknowns, 100 * np.abs(values / exact - 1), style, label=name)
        axes.axhline(goal, color="0.5", linewidth=1, label="error that will do")
        axes.set_xlabel("unknowns [1]")
        axes.set_ylabel("error at the worst root [%]")
        axes.legend()
        page = io.BytesIO()
        figure.savefig(page, format="png", dpi=150)
    return page.getvalue()


if __name__ == "__main__":
    app.run()
