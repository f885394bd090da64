import marimo

__generated_with = "0.25.2"
app = marimo.App(width="medium", app_title="What refinement buys")

with app.setup:
    import io
    from concurrent.futures import ProcessPoolExecutor
    from functools import lru_cache
    from multiprocessing import get_context
    from pathlib import Path

    import marimo as mo
    import numpy as np
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    import cases
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

    SIZES = (20.0, 10.0, 7.0, 5.0, 4.0, 3.75, 3.5, 3.25, 3.0, 2.5)  # [mm]
    TOLERANCES = (0.5, 0.3, 0.2, 0.1, 0.05, 0.02)
    GOAL = 0.01  # error at the root that both are asked for

    # a page runs its cells in a thread, and the mesher wants a process of its own
    MESHER = ProcessPoolExecutor(1, mp_context=get_context("spawn"))


@app.cell(hide_code=True)
def _():
    mo.md("""
    # How many unknowns does the worst root need?

    The bundled block, bare: the stress at the root of its worst relief cut, on meshes of one
    element size everywhere, and on meshes that the solution itself asked for. *Uniform* means one
    plain size with no wish for walls, fillets or cuts; short edges of the drawing still make
    smaller elements, in both. The adaptive path starts from the coarsest of them and refines for
    the worst spot alone; each of its points is where one tolerance ended.
    """)
    return


@app.cell(hide_code=True)
def _():
    exact = root_on(None)[1]
    uniform = [root_on(size) for size in SIZES]
    adaptive = [root_adapted(tolerance) for tolerance in TOLERANCES]
    needed = {"uniform": enough(uniform, exact), "adaptive": enough(adaptive, exact)}
    share = needed["adaptive"] / needed["uniform"]
    return adaptive, exact, needed, share, uniform


@app.cell(hide_code=True)
def _(adaptive, exact, uniform):
    mo.image(
        picture(uniform, adaptive, exact), alt="error at the root against unknowns", width="100%"
    )
    return


@app.cell(hide_code=True)
def _(needed, share):
    mo.md(
        f"To stay within {GOAL:.0%}: {needed['uniform']:,} unknowns with one size, "
        f"{needed['adaptive']:,} on the adaptive path, a share of {share:.2f}."
    )
    return


@app.function
@lru_cache
def bare():
    """Outline of the bare block, its materials and its line load."""
    case = read_case(Path(cases.__file__).parent / "library" / "hillclimb_four.toml")
    (design,) = (design for design in case.designs if design.name == "bare")
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
def enough(path, exact):
    """Unknowns from which on a path stays within the goal."""
    off = [unknowns for unknowns, value in path if abs(value / exact - 1) > GOAL]
    return min(unknowns for unknowns, _ in path if unknowns > max(off, default=0))


@app.function
def picture(uniform, adaptive, exact):
    with rc_context(STYLE):
        figure = Figure(figsize=(7, 4), layout="constrained")
        axes = figure.subplots()
        for path, name, style in (
            (uniform, "one size everywhere", "o-"),
            (adaptive, "adaptive", "s-"),
        ):
            unknowns, values = np.array(path).T
            axes.loglog(unknowns, 100 * np.abs(values / exact - 1), style, label=name)
        axes.axhline(100 * GOAL, color="0.5", linewidth=1)
        axes.set_xlabel("unknowns")
        axes.set_ylabel("error at the worst root [%]")
        axes.legend()
        page = io.BytesIO()
        figure.savefig(page, format="png", dpi=150)
    return page.getvalue()


if __name__ == "__main__":
    app.run()
