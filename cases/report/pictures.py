"""Every picture of a solved case, drawn by its subject."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from pathlib import Path
from typing import TYPE_CHECKING

from cases.base.figures import DOTS_PER_INCH, STYLE
from cases.block.figures import inserts_figure, section_figure
from cases.report.keys import design_keys
from cases.stress.figures import clock_figure, designs_figure, growth_figure
from cases.stress.maps import FIELDS, Map, _field_image, _scale, design_figure, field_figure
from geometry.drawing import border_path, view_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.stress.result import CaseResult
from collections.abc import Callable


def write_pictures(
    result: CaseResult, folder: Path, executor: Executor | None = None
) -> tuple[Path, ...]:
    """Write every picture of a solved case, each as PNG and SVG.

    Parameters
    ----------
    result : CaseResult
    folder : Path
        Must exist.
    executor : concurrent.futures.Executor, optional
        Draws the maps of stress while the rest is drawn here.

    Returns
    -------
    tuple of Path
        Files written. The name before the dot says what it is: ``section``, ``inserts``,
        ``hoop``, ``principal``, ``stress-<design>``, ``clock``, ``growth``, ``designs``; with an
        engine ``gas``, ``pressure-by-depth``; with load steps ``temperature``,
        ``bore-temperature``, ``contact``, ``contact-ties``, ``steps``; with ratings ``ladder``,
        ``haigh``, ``strength-used``, ``spread``; with a depth section ``depth-view``, ``depth``,
        ``insert-depth``; with a crack ``crack-intensity``, ``crack-growth``, ``crack-place``.
    """
    if executor is None:
        return (*_write(_maps, result, folder), *_write(_diagrams, result, folder))
    drawing = executor.submit(_write, _maps, result, folder)
    diagrams = _write(_diagrams, result, folder)
    return (*drawing.result(), *diagrams)


def _write(
    figures: Callable[[CaseResult], Iterator[tuple[str, Figure]]], result: CaseResult, folder: Path
) -> list[Path]:
    import matplotlib

    written: list[Path] = []
    with matplotlib.rc_context(STYLE):
        for name, figure in figures(result):
            for kind, extra in (
                ("png", {"pil_kwargs": {"compress_level": 1}}),
                ("svg", {"metadata": {"Date": None}}),
            ):
                path = folder / f"{name}.{kind}"
                figure.savefig(path, dpi=DOTS_PER_INCH, facecolor="white", **extra)
                written.append(path)
    return written


def _maps(result: CaseResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of each map of stress."""
    keys = design_keys(result)
    view = view_of(result.case.block)
    borders = [border_path(design.outline, view) for design in result.designs]
    maps: dict[str, list[Map]] = {design.name: [] for design in result.designs}
    for field in FIELDS:
        values = [
            [field.of(layer, design.mesh.points[layer.nodes]) for layer in design.stresses]
            for design in result.designs
        ]
        scale = _scale(field, result.designs, values, view)
        for design, value, border in zip(result.designs, values, borders, strict=True):
            image = _field_image(design, value, scale, view)
            maps[design.name].append(Map(field, design, image, border, scale))
        yield field.key, field_figure([row[-1] for row in maps.values()], view)
    for name, row in maps.items():
        yield f"stress-{keys[name]}", design_figure(row, view)


def _diagrams(result: CaseResult) -> Iterator[tuple[str, Figure]]:
    """Name and figure of every other picture."""
    yield "section", section_figure(result.designs[0])
    if any(design.section.insert for design in result.designs):
        yield "inserts", inserts_figure(result.designs)
    yield "clock", clock_figure(result.designs)
    yield "growth", growth_figure(result.designs)
    yield "designs", designs_figure(result.designs)
    if result.case.wall_load is not None:
        from cases.gas.figures import gas_figures

        yield from gas_figures(result.case, result.case.wall_load)
    if any(design.service for design in result.designs):
        from cases.life.figures import service_figures

        yield from service_figures(result.designs)
    if any(design.rating for design in result.designs):
        from cases.rating.figures import rating_figures

        yield from rating_figures(result.case, result.designs)
    if result.depth:
        from cases.depth.figures import depth_figures

        yield from depth_figures(result.depth)
    if result.crack:
        from cases.crack.figures import crack_figures

        yield from crack_figures(result.crack, result.designs)
