"""Panels of a picture: side by side where there is room, one below another on a narrow screen.

Where a picture is drawn, its axes, legends and words are sorted into rows and columns, by the empty
strips between them; what stands together is a panel. Their places are left in the file, and the
page takes each panel out of it as a picture of its own.
"""

from __future__ import annotations

import base64
import json
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote
from xml.etree import ElementTree

from markupsafe import Markup

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure

KEY = "panels"
"""Of their places among what a PNG says of itself."""
PANEL = "panel-{}"
"""Name of what belongs to a panel in an SVG, by its number."""
TOUCHING = 1.5
"""Boxes that lie over one another by less are apart. [pt]."""
LOW = 60.0
"""Rows that are lower belong to what stands above or below. [pt]."""
MARGIN = 3.0
"""Left empty about a panel. [pt]."""
PIXEL = 96 / 72
"""Of a page in a printer's point."""
SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
_SAFE_IN_ADDRESS = " /;,=?!'(>)<-_.*+@$[]{}|^`~"
"""What stands for itself there, between double quotes."""
_COMMENT = re.compile(r"<!--.*?-->", re.DOTALL)
_REFERENCE = re.compile(r"url\(#([^)]+)\)")


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of a picture; places in points from its upper left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Shown:
    """A panel on the page."""

    address: Markup
    percent: float  # of the width of the picture
    wide: int  # at which its letters have the size that they were drawn in [px]


Rows = list[list[Panel]]
Cell = list[tuple["Artist", Panel]]
"""What is drawn together, each with its box."""


def find_panels(figure: Figure) -> Rows:
    """Rows of panels of a picture, and in what is drawn a name for what belongs to each.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        As it is to be saved.

    Returns
    -------
    list of list of Panel
        Empty where nothing stands side by side.
    """
    scale = 72 / figure.dpi
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    shown = [
        one for one in (*figure.axes, *figure.legends, *figure.texts) if one.get_visible()
    ]  # fmt: skip
    high = 72 * figure.get_figheight()
    boxes: Cell = []
    for one in shown:
        box = one.get_tightbbox(renderer)
        if box is not None and box.width and box.height:
            x0, y0, x1, y1 = (scale * edge for edge in box.extents)
            boxes.append((one, Panel(x0, high - y1, x1 - x0, y1 - y0)))
    rows = _joined(
        [
            _parted(row, lambda one: (one.left, one.left + one.width))
            for row in _parted(boxes, lambda one: (one.top, one.top + one.height))
        ]
    )
    if max(map(len, rows), default=0) < 2:
        return []
    number = 0
    found: Rows = []
    for row in rows:
        found.append([])
        for cell in row:
            for one, _ in cell:
                one.set_gid(PANEL.format(number))
            number += 1
            found[-1].append(_around([box for _, box in cell]))
    return found


def _parted(boxes: Cell, along: Callable[[Panel], tuple[float, float]]) -> list[Cell]:
    """Boxes in groups with an empty strip between them, in order along an axis."""
    groups: list[Cell] = []
    end = -math.inf
    for one in sorted(boxes, key=lambda of: along(of[1])[0]):
        start, stop = along(one[1])
        if start > end - TOUCHING:
            groups.append([])
        groups[-1].append(one)
        end = max(end, stop)
    return groups


def _joined(rows: list[list[Cell]]) -> list[list[Cell]]:
    """Rows of several cells, low ones (names, scales) with the one that they belong to."""
    joined: list[list[Cell]] = []
    for row in rows:
        before = joined[-1] if joined else []
        if len(before) == len(row) > 1 and min(_high(before), _high(row)) < LOW:
            joined[-1] = [[*above, *below] for above, below in zip(before, row, strict=True)]
        else:
            joined.append(row)
    return joined


def _high(row: list[Cell]) -> float:
    return max(_around([box for _, box in cell]).height for cell in row)


def _around(boxes: Sequence[Panel]) -> Panel:
    left, top = min(one.left for one in boxes), min(one.top for one in boxes)
    right = max(one.left + one.width for one in boxes)
    foot = max(one.top + one.height for one in boxes)
    edges = left - MARGIN, top - MARGIN, right - left + 2 * MARGIN, foot - top + 2 * MARGIN
    return Panel(*(round(edge, 1) for edge in edges))


def told(rows: Rows) -> str:
    """Places of panels as a file keeps them."""
    return json.dumps([[astuple(one) for one in row] for row in rows], separators=(",", ":"))


def shown_panels(path: Path) -> list[list[Shown]]:
    """Panels of a picture for the page, in rows; empty where it is not told of any, or not there.

    Parameters
    ----------
    path : Path
        PNG or SVG, as :func:`cases.report.pictures.write_pictures` left it.
    """
    if not path.exists():
        return []
    return _svg_panels(path) if path.suffix == ".svg" else _png_panels(path)


def _png_panels(path: Path) -> list[list[Shown]]:
    from PIL.Image import open as picture_of

    with picture_of(path) as whole:
        dots, rows = whole.info["dpi"][0] / 72, json.loads(whole.info.get(KEY, "[]"))

        def shown(panel: Panel) -> Shown:
            part = BytesIO()
            left, top = dots * panel.left, dots * panel.top
            right, foot = left + dots * panel.width, top + dots * panel.height
            box = tuple(round(edge) for edge in (left, top, right, foot))
            whole.crop(box).save(part, "png", optimize=True)
            percent = 100 * dots * panel.width / whole.width
            return Shown(png_address(part.getvalue()), percent, round(PIXEL * panel.width))

        return [[shown(Panel(*one)) for one in row] for row in rows]


def _svg_panels(path: Path) -> list[list[Shown]]:
    root = ElementTree.fromstring(path.read_text(encoding="utf-8"))
    rows = json.loads(root.get(f"data-{KEY}", "[]"))
    wide = float(root.get("width", "0").removesuffix("pt"))
    number = 0
    found: list[list[Shown]] = []
    for row in rows:
        found.append([])
        for one in row:
            panel = Panel(*one)
            text = _only(root, PANEL.format(number), panel)
            number += 1
            found[-1].append(
                Shown(svg_address(text), 100 * panel.width / wide, round(PIXEL * panel.width))
            )
    return found


def _only(root: ElementTree.Element, name: str, panel: Panel) -> str:
    """An SVG of what belongs to a panel alone, with what that refers to."""
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", XLINK)
    known = {
        key: one for defs in root.iter(f"{{{SVG}}}defs") for one in defs if (key := one.get("id"))
    }
    style = root.find(f"{{{SVG}}}defs")
    groups = [group for group in root.iter(f"{{{SVG}}}g") if group.get("id") == name]
    size = {"width": f"{panel.width:g}pt", "height": f"{panel.height:g}pt"}
    view = " ".join(f"{edge:g}" for edge in astuple(panel))
    part = ElementTree.Element(f"{{{SVG}}}svg", {**size, "viewBox": view})
    kept = ElementTree.SubElement(part, f"{{{SVG}}}defs")
    kept.extend([] if style is None else style)
    inside = {one.get("id") for group in groups for one in group.iter() if one.get("id")}
    kept.extend(known[key] for key in _needed(groups, known) if key not in inside)
    part.extend(groups)
    return ElementTree.tostring(part, encoding="unicode")


def _needed(
    groups: Sequence[ElementTree.Element], known: dict[str, ElementTree.Element]
) -> list[str]:
    """Names of what groups refer to, and what that refers to."""
    found: dict[str, None] = {}
    left = list(groups)
    while left:
        for one in left.pop().iter():
            link = one.get(f"{{{XLINK}}}href", "").removeprefix("#")
            names = [
                link,
                *(name for value in one.attrib.values() for name in _REFERENCE.findall(value)),
            ]
            for name in names:
                if name in known and name not in found:
                    found[name] = None
                    left.append(known[name])
    return list(found)


def svg_address(text: str) -> Markup:
    """Lines as an address that holds all of them."""
    text = _COMMENT.sub("", text).replace("\n", " ")  # an address keeps no line ends
    if "'" not in text:  # which stands for itself there, and a quotation mark doesn't
        text = text.replace('"', "'").replace("xlink:href=", "href=")
    return Markup(f"data:image/svg+xml,{quote(text, safe=_SAFE_IN_ADDRESS)}")


def png_address(data: bytes) -> Markup:
    """Points as an address that holds all of them."""
    return Markup(f"data:image/png;base64,{base64.b64encode(data).decode('ascii')}")
