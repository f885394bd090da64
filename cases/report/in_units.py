"""Page, terminal and pictures in the units that a case file speaks.

They are worded in metric units, each number with its unit beside it or in the heading of its
column or axis; here, where they leave, those are put into the file's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from html import unescape
from typing import TYPE_CHECKING

from markupsafe import escape

from cases.base.spoken import METRIC, Spoken
from cases.base.subject import TextTable
from cases.case import Case

if TYPE_CHECKING:
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

TAG = re.compile(r'(<(?:[^>"]|"[^"]*")*>)')
"""A tag of a page; an address between its quotation marks may hold `>`."""
_NAME = re.compile(r"</?\s*(\w+)")
_SPAN = re.compile(r'colspan="(\d+)"')
_ALT = re.compile(r'(?<=\balt=")[^"]*')
_UNIT = (
    r"mm\u00b2|mm&sup2;|mm2|mm|um|bar|degC|kW|kN|N per mm|N/mm|N"
    r"|MPa at degC|MPa per mm|MPa (?:\u221a|&radic;)m|MPa"
)
_IN_BRACKETS = re.compile(rf"\[({_UNIT})\]")
_ALONE = re.compile(rf"(?<![\w(])({_UNIT})\Z")
_UNTOLD = {"style", "script", "code"}
"""Elements whose text is left as it is."""


def names_of(case: Case) -> tuple[str, ...]:
    """What a case calls itself and its designs: left as it is."""
    names = (case.name, case.note, case.source_path.name, *(one.name for one in case.designs))
    return tuple(dict.fromkeys([*names, *(str(escape(name)) for name in names)]))


@dataclass
class _Column:
    """Where a page is read: the units of the columns of a table, the column, what is open."""

    units: list[str] = field(default_factory=list)
    place: int = 0
    head: bool = False
    span: int = 1  # how many columns the cell goes over
    cell: str = ""  # "th" or "td" where inside one
    untold: list[str] = field(default_factory=list)


def page_in(page: str, case: Case) -> str:
    """A page in the units that its case speaks.

    Parameters
    ----------
    page : str
        HTML, each element that is not empty closed.
    case : Case
    """
    spoken = case.spoken
    if spoken == METRIC:
        return page
    names = names_of(case)
    at = _Column()
    return "".join(
        _tag(piece, at, spoken, names) if piece.startswith("<") else _text(piece, at, spoken, names)
        for piece in TAG.split(page)
    )


def _tag(tag: str, at: _Column, spoken: Spoken, names: tuple[str, ...]) -> str:
    found = _NAME.match(tag)
    if not found:
        return tag
    name, closes = found[1].lower(), tag.startswith("</")
    if at.untold and name == at.untold[-1]:
        if closes:
            at.untold.pop()
        else:
            at.untold.append(name)
    elif not at.untold and name in _UNTOLD and not closes:
        at.untold.append(name)
    elif name == "table":
        at.units = []
    elif name == "thead":
        at.head = not closes
        if not closes:
            at.units = []
    elif name == "tr" and not closes:
        at.place = -1
    elif name in ("td", "th"):
        at.cell = "" if closes else name
        if closes:
            at.place += at.span - 1
        else:
            span = _SPAN.search(tag)
            at.place, at.span = at.place + 1, int(span[1]) if span else 1
            if at.head:
                at.units += [""] * at.span
    return _ALT.sub(lambda alt: spoken.told(alt[0], names), tag)


def _text(text: str, at: _Column, spoken: Spoken, names: tuple[str, ...]) -> str:
    if at.untold:
        return text
    if at.head and at.cell:
        if unit := _IN_BRACKETS.search(text):
            at.units[-at.span :] = [unescape(unit[1])] * at.span
        text = _IN_BRACKETS.sub(lambda of: _heading(of[1], spoken), text)
    elif at.cell == "td" and at.place < len(at.units) and at.units[at.place]:
        text = spoken.numbers(text, at.units[at.place])
    return spoken.told(text, names)


def _heading(unit: str, spoken: Spoken) -> str:
    return f"[{spoken.unit(unescape(unit))}]"


def line_in(line: str | TextTable, case: Case) -> str | TextTable:
    """A line of the terminal, or a table, in the units that its case speaks."""
    if isinstance(line, TextTable):
        return table_in(line, case)
    return case.spoken.told(line, names_of(case))


def table_in(table: TextTable, case: Case) -> TextTable:
    """A table of the terminal in the units that its case speaks; a heading ends in its unit."""
    spoken, names = case.spoken, names_of(case)
    if spoken == METRIC:
        return table
    ends = [_ALONE.search(heading) for heading in table.headings]
    units = [end[1] if end else "" for end in ends]

    def told(cell: str, place: int) -> str:
        unit = units[place]
        return spoken.told(spoken.numbers(cell, unit) if unit else cell, names)

    return replace(
        table,
        title=spoken.told(table.title, names),
        headings=tuple(
            heading[: end.start()] + spoken.unit(end[1]) if end else spoken.told(heading, names)
            for heading, end in zip(table.headings, ends, strict=True)
        ),
        rows=tuple(
            tuple(told(cell, place) for place, cell in enumerate(row)) for row in table.rows
        ),
    )


def draw_in(figure: Figure, case: Case) -> None:
    """Axes and words of a picture in the units that its case speaks.

    Axes are those along a straight line whose label names a unit, those beside or below one that
    show the same range, and polar ones whose unit stands in a word. A number in words is told with
    its unit or left.
    """
    spoken = case.spoken
    if spoken == METRIC:
        return
    from matplotlib.text import Text

    for which in ("xaxis", "yaxis"):
        lines: list[Axis] = [getattr(axes, which) for axes in figure.axes]
        lines = [line for line in lines if line.get_scale() == "linear"]
        units = [_IN_BRACKETS.search(line.get_label_text()) for line in lines]
        of_range = {
            tuple(line.get_view_interval()): unit[1]
            for line, unit in zip(lines, units, strict=True)
            if unit
        }
        for line, unit in zip(lines, units, strict=True):
            words = line.get_label_text()
            told = unit[1] if unit else of_range.get(tuple(line.get_view_interval()), "")
            if told and not (words and not unit) and spoken.unit(told) != told:
                _ticks_in(line, told, spoken)
                line.set_label_text(_IN_BRACKETS.sub(lambda of: _heading(of[1], spoken), words))
    _round_in(figure, spoken)
    names = names_of(case)
    for text in figure.findobj(Text):
        words = text.get_text()
        told = _IN_BRACKETS.sub(lambda of: _heading(of[1], spoken), spoken.told(words, names))
        if words and told != words:
            text.set_text(told)


def _round_in(figure: Figure, spoken: Spoken) -> None:
    """Rings of polar axes, whose unit a word inside or below names."""
    from matplotlib.text import Text

    rings = [axes.yaxis for axes in figure.axes if axes.name == "polar"]
    said = " ".join(text.get_text() for text in figure.findobj(Text)) if rings else ""
    unit = _IN_BRACKETS.search(said)
    if unit and spoken.unit(unit[1]) != unit[1]:
        for line in rings:
            _ticks_in(line, unit[1], spoken)


def _ticks_in(line: Axis, unit: str, spoken: Spoken) -> None:
    """Round ticks in another unit along an axis that is scaled in a metric one."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    scale = spoken.scale(unit)
    zero, one = scale(0.0), scale(1.0) - scale(0.0)
    places = MaxNLocator(nbins=max(len(line.get_majorticklocs()) - 1, 4), steps=[1, 2, 2.5, 5, 10])
    low, high = sorted(line.get_view_interval())
    ticks = list(places.tick_values(zero + low * one, zero + high * one))
    inside = [(tick - zero) / one for tick in ticks]
    inside = [tick for tick in inside if low - 1e-9 <= tick <= high + 1e-9]
    line.set_ticks(inside)
    line.set_major_formatter(FuncFormatter(lambda tick, _: f"{round(zero + tick * one, 6):g}"))
