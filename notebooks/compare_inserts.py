import marimo

__generated_with = "0.25.2"
app = marimo.App(width="medium", app_title="Which insert, with which fit", css_file="dials.css")

with app.setup:
    import io
    import tempfile
    from concurrent.futures import ProcessPoolExecutor
    from dataclasses import replace
    from functools import lru_cache
    from multiprocessing import get_context
    from pathlib import Path

    import marimo as mo
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    from cases import read_case, solve_case
    from cases.base.figures import STYLE
    from cases.block.drawn import draw_all
    from cases.block.figures import inserts_figure
    from cases.subjects import SUBJECTS
    from cases.verdict.read import verdict_of
    from cases.verdict.words import (
        band_words,
        governs_words,
        limit_words,
        paragraph,
        sentence,
        short_life,
    )

    CUT_RADIUS, LINER_RADIUS = 8.0, 46.0  # of the relief cut and outside the liner [mm]
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
    {ties}
    [[relief_cut]]
    clock = "1:41"
    radius = "{cut_at} mm"
    diameter = "16 mm"
    depth = "22 mm"
    [section]
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
    """
    TIE = '[[tie]]\nclock = "{clock}"\nwidth = "8 mm"\ndepth = "12 mm"\n'
    TIES = "".join(TIE.format(clock=clock) for clock in ("12:13", "4:11", "8:14"))
    BARE = '[[design]]\nname = "bare"\n'
    INSERT = """
    [[design]]
    name = "insert"
    material = "6061-T6"
    depth = "{depth} mm"
    roughness = "4 um"
    [design.fit]
    interference = "{interference} um"
    tolerance = "5 um"
    friction = 0.15
    ties = {{ clearance = "50 um" }}
    [[design.slot]]
    clock = "10:14"
    width = "5 mm"
    arc = "40 deg"
    [[design.slot]]
    clock = "6:12"
    width = "5 mm"
    arc = "40 deg"
    """
    ZONE = """
    [[design.zone]]
    clock = "1:41"
    width = "24 deg"
    depth = "{depth} mm"
    blend = "8 deg"
    """
    # other fits are left to the slider
    ASKED = tuple(subject for subject in SUBJECTS if subject.key != "fit")
    TRIED = {}  # what each setting came to, by setting

    # a page runs its cells in a thread, and the mesher wants a process of its own
    MAKERS = ProcessPoolExecutor(2, mp_context=get_context("spawn"))


@app.cell(hide_code=True)
def _():
    mo.md("""
    # Which insert carries the load, and with which fit?

    One barrel of an invented block, not a real engine: bare, or with an insert pressed into its
    open jacket. Say what load you want and how much wall the relief cut has left; make the insert
    deeper all round, or behind the cut only; press it harder or softer. Each time both are rated,
    cold and warm, with what is not known exactly drawn 100 times.

    *Quick: by the section, a mean over the depth. `hoopclock rate` does the same in depth, draws
    2,000 times, and looks for the fit to make itself.*
    """)
    return


@app.cell(hide_code=True)
def _():
    load = mo.ui.slider(
        80, 300, 10, value=180, debounce=True, show_value=True, full_width=True,
        label="Load wanted: peak gas pressure [bar]",
    )  # fmt: skip
    wall_left = mo.ui.slider(
        1.5, 6, 0.5, value=2.5, debounce=True, show_value=True, full_width=True,
        label="Wall left at the relief cut [mm], of 6 mm",
    )  # fmt: skip
    depth = mo.ui.slider(
        3, 12, 1, value=4, debounce=True, show_value=True, full_width=True,
        label="Depth of the insert all round [mm]",
    )  # fmt: skip
    deeper = mo.ui.slider(
        0, 10, 1, value=0, debounce=True, show_value=True, full_width=True,
        label="Deeper than that behind the relief cut [mm], 0 is the same all round",
    )  # fmt: skip
    interference = mo.ui.slider(
        10, 60, 2, value=22, debounce=True, show_value=True, full_width=True,
        label="Interference on the diameter [um]",
    )  # fmt: skip
    mo.vstack([load, wall_left, depth, deeper, interference])
    return deeper, depth, interference, load, wall_left


@app.cell
def _(deeper, depth, interference, load, wall_left):
    # both begin at once; they are drawn meanwhile, and the bare block is ready first
    _block = load.value, wall_left.value
    settings = _block, (*_block, depth.value, deeper.value, interference.value)
    begun_bare, making = (begun(*setting) for setting in settings)
    return begun_bare, making, settings


@app.cell(hide_code=True)
def _(settings):
    _designs = [design for one in settings for design in draw_all(case_at(*one), lambda *_: None)]
    mo.image(drawn(_designs), alt="the two designs from above", width="100%")
    return


@app.cell
def _(begun_bare):
    bare = begun_bare.result()
    return (bare,)


@app.cell(hide_code=True)
def _(bare):
    _verdict = verdict_of(bare)
    (_row,) = _verdict.rows
    mo.md(
        f"**As it is, bare:** it carries {limit_words(_row, '5 to 95 % of draws: ')}, "
        f"{_verdict.wanted_bar:.0f} bar wanted; {governs_words(_row)} governs."
    )
    return


@app.cell
def _(bare, deeper, depth, interference, load, making, wall_left):
    _result = both(bare, making.result())
    verdict = verdict_of(_result)
    _setting = load.value, wall_left.value, depth.value, deeper.value, interference.value
    TRIED[_setting] = tried_row(verdict, *_setting)
    tried = tuple(TRIED.values())
    return tried, verdict


@app.cell(hide_code=True)
def _(verdict):
    mo.callout(
        mo.md(sentence(verdict)),
        kind={"holds": "success", "marginal": "warn"}.get(verdict.choice.status, "danger"),
    )
    return


@app.cell(hide_code=True)
def _(verdict):
    mo.image(limits_picture(verdict), alt=limits_in_words(verdict), width="100%")
    return


@app.cell(hide_code=True)
def _(verdict):
    mo.md(markdown_table([design_row(row) for row in verdict.rows]))
    return


@app.cell(hide_code=True)
def _(tried):
    mo.md("## What you have tried so far\n\n" + markdown_table(tried))
    return


@app.cell(hide_code=True)
def _(verdict):
    mo.accordion({"The verdict as a paragraph, to paste": mo.md(paragraph(verdict))})
    return


@app.cell(hide_code=True)
def _():
    mo.md("""
    ### What this can't tell

    Stress is the mean over the depth of metal; just below an insert that is shallower than a relief
    cut the true peak is about 1.5 times that, so a depth that only just holds here may not hold
    in depth. These are estimates to compare designs by, not a certificate: casting quality,
    porosity and machining decide real life. Measure, sonic-test and pressure-test the block, and
    where a rating matters to safety, have a licensed engineer check it.
    """)
    return


@app.function
def case_text(load, wall_left, depth=None, deeper=0, interference=0):
    """The case file of one setting: of the bare block, or where there is a depth, of the insert.

    Bar, mm and um; the interference is that on the diameter.
    """
    cut_at = LINER_RADIUS + wall_left + CUT_RADIUS
    text = BLOCK.format(ties=TIES, cut_at=cut_at, load=load)
    if depth is None:
        return text + BARE
    zone = ZONE.format(depth=depth + deeper) if deeper else ""
    return text + INSERT.format(depth=depth, interference=interference) + zone


@app.function
@lru_cache
def begun(*setting):
    """The rating of a setting, as it is under way; kept."""
    return MAKERS.submit(solve_case, case_at(*setting), rate=True, subjects=ASKED)


@app.function
def case_at(*setting):
    """The case of a setting."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_text(case_text(*setting), encoding="utf-8")
        return read_case(path)


@app.function
def both(bare, inserted):
    """The bare block and the insert as one result."""
    case = replace(inserted.case, designs=bare.case.designs + inserted.case.designs)
    return replace(inserted, case=case, designs=bare.designs + inserted.designs)


@app.function
def share_words(row):
    """How many of 100 draws carry the wanted load."""
    return row.status if row.share is None else f"{100 * row.share:.0f}"


@app.function
def design_row(row):
    """One design of a verdict."""
    return {
        "design": row.design,
        "of 100 draws carry it": share_words(row),
        "limit [bar]": f"{row.limit_bar:.0f}" if row.limit_bar else "",
        "5 to 95 % [bar]": band_words(row.limit_low_bar, row.limit_high_bar, " to "),
        "life at the wanted load [cycles]": short_life(row),
        "governs": governs_words(row),
        "open water [mm2]": f"{row.open_water_mm2:.0f}",
        "insert metal [g]": f"{row.mass_g:.0f}" if row.mass_g else "",
    }


@app.function
def tried_row(verdict, load, wall_left, depth, deeper, interference):
    """What one setting came to."""
    bare, insert = verdict.rows
    return {
        "load wanted [bar]": load,
        "wall left [mm]": wall_left,
        "insert [mm]": depth,
        "behind the cut [mm]": depth + deeper,
        "interference [um]": interference,
        "bare carries [bar]": limit_words(bare),
        "insert carries [bar]": limit_words(insert),
        "of 100 draws": share_words(insert),
        "metal [g]": f"{insert.mass_g:.0f}",
    }


@app.function
def markdown_table(rows):
    """Rows, all with the same keys, as a table."""
    lines = [list(rows[0]), ["---"] * len(rows[0]), *([*map(str, row.values())] for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


@app.function
def limits_in_words(verdict):
    """What the picture of limits shows."""
    carried = ", ".join(f"{row.design} {limit_words(row)}" for row in verdict.rows)
    return f"wanted {verdict.wanted_bar:.0f} bar; carried: {carried}"


@app.function
def limits_picture(verdict):
    """What each design carries, with its band, against the load wanted."""
    with rc_context(STYLE):
        figure = Figure(figsize=(9, 2.6), layout="constrained")
        axes = figure.subplots()
        for at, row in enumerate(verdict.rows):
            if row.limit_low_bar is not None and row.limit_high_bar is not None:
                axes.plot([row.limit_low_bar, row.limit_high_bar], [at, at], color="#7FA8C9",
                          linewidth=12, solid_capstyle="butt",
                          label="5 to 95 % of draws" if at == 0 else None)  # fmt: skip
            if row.limit_bar is not None:
                axes.plot(row.limit_bar, at, "o", color="#005A8C", markersize=9,
                          label=f"{100 * verdict.reliability:g} of 100 draws carry it"
                          if at == 0 else None)  # fmt: skip
        axes.axvline(verdict.wanted_bar, color="#A03000", linewidth=2, label="load wanted")
        axes.set_yticks(range(len(verdict.rows)), [row.design for row in verdict.rows])
        axes.set_ylim(len(verdict.rows) - 0.4, -0.6)
        axes.set_xlim(left=0)
        axes.set_xlabel("peak gas pressure [bar]")
        axes.spines[["top", "right"]].set_visible(False)
        figure.legend(loc="outside upper center", ncols=3)
        return png(figure)


@app.function
def drawn(designs):
    """The designs from above."""
    with rc_context(STYLE):
        return png(inserts_figure(designs))


@app.function
def png(figure):
    """A figure as a picture."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=120, facecolor="white")
    return buffer.getvalue()


if __name__ == "__main__":
    app.run()
