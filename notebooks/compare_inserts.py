import marimo

__generated_with = "0.25.2"
app = marimo.App(width="medium", app_title="Uniform or local insert")

with app.setup:
    import io
    from dataclasses import replace
    from pathlib import Path

    import marimo as mo
    import numpy as np
    from matplotlib import rc_context

    import cases
    from cases import read_case, solve_case
    from cases.base.figures import STYLE
    from cases.base.parts import PARENT_PARTS
    from cases.block.features import own
    from cases.block.figures import inserts_figure
    from cases.gas.solve import gas_of
    from cases.life.given import under_gas_alone
    from cases.stress.figures import clock_figure, designs_figure
    from cases.stress.spots import rated_worst
    from cases.stress.traces import stress_at_cut
    from cases.stress.why import place_of
    from geometry.clock import format_clock


@app.cell(hide_code=True)
def _():
    mo.md("""
    # Is a uniform insert enough, or must it be thicker behind the relief cuts?

    The three designs of the bundled case are drawn, meshed and solved with the same functions that
    the command uses: cold, each insert one piece with the block. That is what the metal does there;
    which one to make, with its fit, heat and what is not known exactly, is the first line of
    `hoopclock rate`. The block is invented, not a real engine.
    """)
    return


@app.cell
def _():
    path = Path(cases.__file__).with_name("library") / "hillclimb_four.toml"
    case = replace(under_gas_alone(read_case(path)), mesh="coarse")
    return (case,)


@app.cell
def _(case):
    result = solve_case(case)
    return (result,)


@app.cell(hide_code=True)
def _(case, result):
    peak = gas_of(result).peak_pressure
    mo.md(f"""
    **{case.name}**, {case.block.bores} bores of {case.block.bore:g} mm, bore
    {case.block.firing_bore} fires at {peak:g} MPa ({10 * peak:g} bar);
    the section stands for the top {case.section_depth:.1f} mm.
    """)
    return


@app.cell(hide_code=True)
def _(result):
    mo.image(picture(inserts_figure, result.designs), alt="the three designs", width="100%")
    return


@app.cell
def _(case, result):
    # largest principal stress at each relief cut of the firing bore
    cuts = own(case.block.relief_cuts, case.block)
    at_cuts = {
        design.name: [stress_at_cut(design, cut, case.block.firing_bore) for cut in cuts]
        for design in result.designs
    }
    metal = {design.name: insert_volume(design) for design in result.designs}
    return at_cuts, cuts, metal


@app.cell(hide_code=True)
def _(at_cuts, case, cuts, metal, result):
    rows = []
    for _design in result.designs:
        _worst = rated_worst(_design, PARENT_PARTS)
        _cut_columns = {
            f"at cut {format_clock(cut.clock)} [MPa]": round(stress)
            for cut, stress in zip(cuts, at_cuts[_design.name], strict=True)
        }
        rows.append(
            {
                "design": _design.name,
                "worst in the block [MPa]": round(_worst.principal_mpa),
                "where": f"{_worst.clock}, {place_of(case.block, _worst)}",
                **_cut_columns,
                "bore growth [um]": round(_design.bore.mean_growth_um, 1),
                "out of round [um]": round(_design.bore.out_of_round_um, 1),
                "open water [mm2]": round(_design.open_area_mm2),
                "insert metal [cm3]": round(metal[_design.name] / 1000, 1),
            }
        )
    mo.md(markdown_table(rows))
    return (rows,)


@app.cell
def _(case, cuts, metal):
    # as much metal as the local insert has, but spread evenly
    _uniform = next(design for design in case.designs if design.name == "uniform")
    even_depth = _uniform.insert.depth * metal["local"] / metal["uniform"]
    _even = replace(_uniform, name="even", insert=replace(_uniform.insert, depth=even_depth))
    (_result,) = solve_case(replace(case, designs=(_even,))).designs
    even = [stress_at_cut(_result, cut, case.block.firing_bore) for cut in cuts]
    return even, even_depth


@app.cell(hide_code=True)
def _(at_cuts, cuts, even, even_depth, metal):
    _worse = int(np.argmax(at_cuts["bare"]))
    _bare, _uniform, _local = (at_cuts[name][_worse] for name in ("bare", "uniform", "local"))
    _verdict = (
        "The same volume lowers it further where it stands deep behind the cuts than all round."
        if _local < even[_worse]
        else "The same volume all round lowers it as far."
    )
    mo.callout(
        mo.md(
            f"""
    At the worse relief cut, {format_clock(cuts[_worse].clock)}, the bare block carries
    {_bare:.0f} MPa. The uniform insert takes away **{1 - _uniform / _bare:.0%}** of it (to
    {_uniform:.0f} MPa), the local one **{1 - _local / _bare:.0%}** (to {_local:.0f} MPa), with
    {metal["local"] / metal["uniform"] - 1:.0%} more metal and the same water slots.

    As much metal spread evenly, {even_depth:.1f} mm deep all round, would leave
    {even[_worse]:.0f} MPa there. **{_verdict}**
    """
        ),
        kind="info",
    )
    return


@app.cell(hide_code=True)
def _(result):
    mo.image(picture(designs_figure, result.designs), alt="bars by design", width="100%")
    return


@app.cell(hide_code=True)
def _(result):
    mo.image(picture(clock_figure, result.designs), alt="hoop stress by clock", width="100%")
    return


@app.cell(hide_code=True)
def _(result):
    _checks = "; ".join(
        f"{design.name}: hold reactions {design.checks.reaction_ratio:.0e}, cut force "
        f"{design.checks.cut_force_ratio:.4f}, {design.seconds['total']:.1f} s"
        for design in result.designs
    )
    mo.md(f"""
    ### What holds this up, and what does not

    Self-checks (reactions must be 0, cut force 1): {_checks}.

    A section model: stress is the mean over the depth of metal; just below an insert that is
    shallower than a relief cut the true peak is about 1.5 times that. The insert counts as one
    with the block, with no fit, gap or heat. Estimates for comparison, not a certificate: casting
    quality, porosity and machining decide real life. Measure, sonic-test and pressure-test the
    block, and where a rating matters to safety, have a licensed engineer check it.
    """)
    return


@app.function
def insert_volume(design):
    """Metal of the insert: its depth over each triangle, summed. [mm3]."""
    volume = 0.0
    for layer in design.stresses:
        if layer.part == "insert":
            x, y = design.mesh.points[layer.nodes[layer.triangles]].transpose(2, 0, 1)
            area = np.zeros(len(x))
            for i, j, middle in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
                # a chord's share of the area, and two thirds of the bow that stands on it
                bow = (x[:, middle] - x[:, i]) * (y[:, j] - y[:, i])
                bow -= (y[:, middle] - y[:, i]) * (x[:, j] - x[:, i])
                area += (x[:, i] * y[:, j] - x[:, j] * y[:, i]) / 2 + 2 / 3 * bow
            depth = layer.thickness[layer.triangles[:, 3:]].mean(axis=1)
            volume += float(depth @ area)
    return volume


@app.function
def markdown_table(rows):
    """Rows, all with the same keys, as a table."""
    lines = [list(rows[0]), ["---"] * len(rows[0]), *([*map(str, row.values())] for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


@app.function
def picture(draw, designs):
    """A figure of the package as a picture."""
    buffer = io.BytesIO()
    with rc_context(STYLE):
        draw(designs).savefig(buffer, format="png", dpi=120, facecolor="white")
    return buffer.getvalue()


if __name__ == "__main__":
    app.run()
