"""The front as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.search.found import WANTED
from cases.search.seek import Result, Seen
from cases.search.table import LIMIT
from cases.search.words import MEMBER, is_uniform

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LOCAL, UNIFORM = "#0072B2", "#D55E00"
"""Of designs with and without deeper zones; told apart by the colour-blind, and by their marks."""
REST = "#8A8A8A"


def front_figure(result: Result, names: list[str]) -> Figure:
    """The first that is wanted over each of the others, a panel each.

    Members of the front are filled and have the number of their name, with the band of their limit
    as a bar; designs that coarse solids alone have judged are small and grey.
    """
    from cases.base.figures import light_frame, new_figure

    first, *others = result.given.wanted
    figure = new_figure(4.6 * len(others) + 2.4, 4.6)
    panels = figure.subplots(1, len(others), squeeze=False)[0]
    for axes, want in zip(panels, others, strict=True):
        _rest(axes, result, first, want)
        for number, (member, name) in enumerate(zip(result.front, names, strict=True)):
            _member(axes, member, first, want, name, bend=number == result.knee)
        light_frame(axes, "both")
        axes.set_xlabel(WANTED[want].heading)
        axes.set_ylabel(WANTED[first].heading)
        if result.front:
            axes.margins(0.12)
    handles, labels = panels[0].get_legend_handles_labels()
    unlike = dict(zip(labels, handles, strict=True))
    figure.legend(unlike.values(), unlike.keys(), loc="lower center", ncols=3, fontsize=8)
    figure.subplots_adjust(left=0.09, right=0.98, top=0.95, bottom=0.27, wspace=0.25)
    return figure


def _rest(axes: Axes, result: Result, first: str, want: str) -> None:
    """Designs that are not in the front."""
    for uniform, mark, label in (
        (False, "o", "coarse solid, with a deeper zone"),
        (True, "s", "coarse solid, uniform"),
    ):
        values = [
            (WANTED[want].value(of.coarse), WANTED[first].value(of.coarse))
            for of in result.seen
            if of not in result.front and is_uniform(of) == uniform
        ]
        known = [(x, y) for x, y in values if x is not None and y is not None]
        if known:
            x, y = zip(*known, strict=True)
            axes.plot(
                x, y, mark, color=REST, markersize=4, markerfacecolor="none", linewidth=0,
                label=label,
            )  # fmt: skip


def _member(axes: Axes, member: Seen, first: str, want: str, name: str, *, bend: bool) -> None:
    """A member of the front, with its band where the limit is drawn."""
    found = member.found
    x, y = WANTED[want].value(found), WANTED[first].value(found)
    if x is None or y is None:
        return
    uniform = is_uniform(member)
    colour, mark = (UNIFORM, "s") if uniform else (LOCAL, "o")
    if first == LIMIT and found.limit_bar and found.low_bar and found.high_bar:
        low, high = (of * found.limit / found.limit_bar for of in (found.low_bar, found.high_bar))
        axes.plot((x, x), (low, high), color=colour, linewidth=1.2, label="5 to 95 % of the draws")
    label = "front, uniform" if uniform else "front, with a deeper zone"
    axes.plot(x, y, mark, color=colour, markersize=8, linewidth=0, label=label)
    if bend:
        axes.plot(
            x, y, "o", color="#222222", markersize=14, markerfacecolor="none", linewidth=0,
            label="bend",
        )  # fmt: skip
    number = name.removeprefix(f"{MEMBER} ")
    axes.annotate(number, (x, y), xytext=(5, -12), textcoords="offset points", fontsize=8)
