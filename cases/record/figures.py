"""Limits before and after the shop's engines had their say."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from cases.base.figures import COLUMN, LINES, light_frame, new_figure
from geometry.drawing import INK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.record.built import Built
    from cases.record.result import RecordFinding

BEFORE, AFTER = LINES[0][0], LINES[1][0]


def engines_figure(found: RecordFinding) -> Figure:
    """Each engine's used load over its predicted limit, and the shop's factor of each design."""
    engines = sorted(found.engines, key=lambda of: of.low if math.isfinite(of.low) else of.high)
    rows = len(engines) + 2 * len(found.designs)
    left, foot, height = 1.4, 0.7, 1.0 + 0.2 * min(rows, 60)
    figure = new_figure(COLUMN, height)
    axes = figure.add_axes(
        (left / COLUMN, foot / height, 0.97 - left / COLUMN, 1 - (foot + 0.1) / height)
    )
    names: list[str] = []
    for told in found.designs:
        for factor, colour, name in (
            (told.prior_factor, BEFORE, "predicted"), (told.shop_factor, AFTER, "shop"),
        ):  # fmt: skip
            axes.plot(factor[::2], [len(names)] * 2, color=colour, linewidth=3)
            axes.plot(factor[1], len(names), "o", color=colour)
            names.append(f"{told.design}, {name}")
    for engine in engines[:60]:
        at = len(names)
        low, high = math.exp(engine.low), math.exp(min(engine.high, 50))
        if not engine.cracked:
            axes.plot(low, at, ">", color=INK)
        elif engine.low == engine.high:
            axes.plot(low, at, "x", color=LINES[2][0], markersize=7)
        else:
            axes.plot([low if low else high / 2, high], [at, at], color=LINES[2][0])
            axes.plot(high, at, "x", color=LINES[2][0], markersize=7)
        names.append(f"job {engine.job}")
    axes.set_yticks(range(len(names)), names, fontsize=7.5)
    axes.invert_yaxis()
    axes.set_xlabel("load over the predicted limit\nthat half the draws carry")
    light_frame(axes, "x")
    return figure


def built_figure(built: Built) -> Figure:
    """What the press did to the bore, measured and predicted, by clock, and order by order."""
    figure = new_figure(2 * COLUMN, 3.4)
    by_clock = figure.add_axes((0.07, 0.16, 0.41, 0.78))
    by_clock.plot(built.clock_hours, built.predicted_um, "-", color=BEFORE, label="section")
    if built.solid_um:
        by_clock.plot(built.clock_hours, built.solid_um, "--", color=LINES[1][0], label="solid")
    by_clock.plot(built.clock_hours, built.measured_um, "o", color=LINES[2][0], label="measured")
    by_clock.set(xlabel="clock of the diameter's first end [h]", ylabel="growth by the press [um]")
    by_clock.legend()
    light_frame(by_clock, "both")
    by_order = figure.add_axes((0.58, 0.16, 0.4, 0.78))
    places = range(len(built.orders))
    shown = [(BEFORE, [one.predicted_um for one in built.orders])]
    if built.solid_um:
        shown.append((LINES[1][0], [one.solid_um or 0.0 for one in built.orders]))
    shown.append((LINES[2][0], [one.measured_um for one in built.orders]))
    for at, (colour, values) in enumerate(shown):
        shift = 0.8 * ((at + 0.5) / len(shown) - 0.5)
        by_order.bar([place + shift for place in places], values, 0.8 / len(shown), color=colour)
    by_order.set_xticks(places, [str(one.order) for one in built.orders])
    by_order.set(xlabel="order", ylabel="amplitude [um]")
    light_frame(by_order, "y")
    return figure
