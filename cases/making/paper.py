"""Pages of lines and words in millimetres of paper, written as vector pictures and as PDF.

One layout goes on both papers: it stands in the middle of A4 and of US letter. Black and grey
only. Words are measured in the font that the PDF carries, and a picture holds them to the same
width, so that what is clear in one is clear in both.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from typing import Any

from geometry.planar import Curve, line

PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
"""ISO 216 and ANSI/ASME Y14.1, across. [mm]."""
WIDTH, HEIGHT = 267.0, 197.0
"""Of a layout across: what both papers have inside margins of 6 mm. [mm]."""
THICK, THIN = 0.5, 0.18
"""Lines that are seen, and all others (ISO 128-2). [mm]."""
HIDDEN, CENTRE = (2.0, 1.0), (6.0, 1.0, 1.0, 1.0)
"""Dashes and gaps. [mm]."""
SMALL, NORMAL, LARGE = 2.3, 2.8, 4.0
"""Heights of words, of a line with its tails. [mm]."""
POINT = 25.4 / 72
PLAIN, BOLD = "DejaVuSans", "DejaVuSans-Bold"


@dataclass(frozen=True, kw_only=True, slots=True)
class Stroke:
    """Loops or open lines, from the lower left corner of a layout. [mm]."""

    loops: tuple[tuple[Curve, ...], ...]
    width: float = THIN
    dash: tuple[float, ...] = ()
    closed: bool = False
    grey: float | None = None  # filled with, 0 is black
    name: str = ""  # class in a picture


@dataclass(frozen=True, kw_only=True, slots=True)
class Words:
    """Words on one line."""

    at: complex  # foot of the line [mm]
    text: str
    size: float = NORMAL
    anchor: str = "start"  # or "middle", "end"
    turn: float = 0.0  # counter-clockwise [deg]
    bold: bool = False
    name: str = ""  # class in a picture


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """A blank to be filled in, by hand or in the file."""

    low: complex  # its lower left corner [mm]
    width: float
    height: float
    name: str  # of the field


@dataclass(frozen=True, kw_only=True, slots=True)
class Page:
    """A layout."""

    title: str
    items: tuple[Stroke | Words | Entry, ...]
    upright: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the layout. [mm]."""
        return (HEIGHT, WIDTH) if self.upright else (WIDTH, HEIGHT)

    def on(self, paper: str) -> tuple[float, float]:
        """Width and height of a paper as it lies. [mm]."""
        across, high = PAPERS[paper]
        return (high, across) if self.upright else (across, high)


def ruled(*ends: complex, width: float = THIN, dash: tuple[float, ...] = ()) -> Stroke:
    """A line through points, open."""
    curves = tuple(line(a, b) for a, b in pairwise(ends))
    return Stroke(loops=(curves,), width=width, dash=dash)


def box(low: complex, high: complex, width: float = THIN, grey: float | None = None) -> Stroke:
    """A rectangle between two corners."""
    corners = (low, complex(high.real, low.imag), high, complex(low.real, high.imag))
    sides = tuple(line(a, b) for a, b in zip(corners, (*corners[1:], low), strict=True))
    return Stroke(loops=(sides,), width=width, closed=True, grey=grey)


def arrow(tip: complex, way: complex, size: float = 2.0) -> Stroke:
    """A filled arrowhead, pointing along ``way``."""
    back = tip - size * way / abs(way)
    side = 1j * size / 6 * way / abs(way)
    corners = (tip, back + side, back - side)
    sides = tuple(line(a, b) for a, b in zip(corners, (*corners[1:], tip), strict=True))
    return Stroke(loops=(sides,), closed=True, grey=0.0)


def moved(loop: Iterable[Curve], scale: float, by: complex) -> tuple[Curve, ...]:
    """Curves of a plan on paper."""
    return tuple(Curve(scale * of.start + by, scale * of.end + by, of.bulge, of.tag) for of in loop)


@cache
def wide(text: str, size: float = NORMAL, bold: bool = False) -> float:
    """Width of words. [mm]."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    _fonts()
    return float(stringWidth(text, BOLD if bold else PLAIN, size / POINT)) * POINT


def folded(text: str, room: float, size: float = NORMAL, bold: bool = False) -> list[str]:
    """Words on as many lines as they need in a room [mm]; a word that is longer is cut."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and wide(longer, size, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(clipped(word, room, size, bold))
    return lines


def clipped(text: str, room: float, size: float = NORMAL, bold: bool = False) -> str:
    """A text that stays within a room [mm], its end left out where it is longer."""
    if wide(text, size, bold) <= room:
        return text
    while text and wide(f"{text}…", size, bold) > room:
        text = text[:-1]
    return f"{text}…"


@cache
def _fonts() -> None:
    """Register the fonts, which come with the plotting library."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    library = find_spec("matplotlib")  # itself is long to import
    assert library is not None
    assert library.origin is not None
    folder = Path(library.origin).parent / "mpl-data" / "fonts" / "ttf"
    for name in (PLAIN, BOLD):
        registerFont(TTFont(name, str(folder / f"{name}.ttf")))


def svg_of(page: Page, paper: str) -> str:
    """A page as a vector picture on a paper."""
    across, high = page.on(paper)
    left, low = (across - page.size[0]) / 2, (high - page.size[1]) / 2
    sheet = f'<rect width="{across}" height="{high}" fill="#fff"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}mm" height="{high}mm" '
        f'viewBox="0 0 {across} {high}">\n<title>{html.escape(page.title)}</title>\n{sheet}\n'
        f"{_body(page.items, left, high - low)}\n</svg>\n"
    )


def drawn(items: Iterable[Stroke | Words | Entry], width: float, height: float, name: str) -> str:
    """Items as a picture to stand in a page, of a class."""
    return f'<svg class="{name}" viewBox="0 0 {width} {height}">{_body(items, 0.0, height)}</svg>'


def _body(items: Iterable[Stroke | Words | Entry], left: float, top: float) -> str:
    def at(z: complex) -> str:
        return f"{left + z.real:.4f} {top - z.imag:.4f}"

    def way(curve: Curve) -> str:
        if not curve.bulge:
            return f"L {at(curve.end)}"
        large, turn = int(abs(curve.sweep) > math.pi), int(curve.bulge < 0)
        return f"A {curve.radius:.4f} {curve.radius:.4f} 0 {large} {turn} {at(curve.end)}"

    found = ['<g font-family="DejaVu Sans, Verdana, sans-serif">']
    for of in items:
        name = f' class="{of.name}"' if not isinstance(of, Entry) and of.name else ""
        if isinstance(of, Stroke):
            close = " Z" if of.closed else ""
            path = " ".join(
                f"M {at(loop[0].start)} {' '.join(map(way, loop))}{close}" for loop in of.loops
            )
            fill = "none" if of.grey is None else f"#{3 * f'{round(255 * of.grey):02x}'}"
            dash = f' stroke-dasharray="{" ".join(map(str, of.dash))}"' if of.dash else ""
            found.append(
                f'<path{name} d="{path}" fill="{fill}" fill-rule="evenodd" stroke="#000" '
                f'stroke-width="{of.width}"{dash}/>'
            )
        elif isinstance(of, Words) and of.text:
            turn_ = f' transform="rotate({-of.turn:g} {at(of.at)})"' if of.turn else ""
            bold = ' font-weight="bold"' if of.bold else ""
            x, y = at(of.at).split()
            found.append(
                f'<text{name} x="{x}" y="{y}" font-size="{of.size}" text-anchor="{of.anchor}"'
                f'{bold}{turn_} textLength="{wide(of.text, of.size, of.bold):.3f}" '
                f'lengthAdjust="spacingAndGlyphs">{html.escape(of.text)}</text>'
            )
    return "\n".join([*found, "</g>"])


def write_pdf(pages: Sequence[Page], paper: str, path: Path) -> None:
    """Write pages on a paper into one file; the same bytes for the same pages."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # a stream as bytes, a fifth shorter, and in a third of the time
    _fonts()
    canvas = Canvas(str(path), invariant=1)
    canvas.setTitle(pages[0].title)
    for page in pages:
        across, high = page.on(paper)
        canvas.setPageSize((across / POINT, high / POINT))
        canvas.scale(1 / POINT, 1 / POINT)
        canvas.translate((across - page.size[0]) / 2, (high - page.size[1]) / 2)
        for of in page.items:
            if isinstance(of, Stroke):
                _stroke(canvas, of)
            elif isinstance(of, Entry):
                canvas.acroForm.textfield(
                    name=of.name, tooltip=of.name, x=of.low.real, y=of.low.imag, width=of.width,
                    height=of.height, relative=True, borderWidth=0, fillColor=None,
                    fontSize=0.7 * of.height / POINT,
                )  # fmt: skip
            elif of.text:
                _words(canvas, of)
        canvas.showPage()
    canvas.save()


def _words(canvas: Any, of: Words) -> None:
    canvas.saveState()
    canvas.translate(of.at.real, of.at.imag)
    canvas.rotate(of.turn)
    canvas.setFont(BOLD if of.bold else PLAIN, of.size)
    draw = {
        "start": canvas.drawString, "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[of.anchor]  # fmt: skip
    draw(0, 0, of.text)
    canvas.restoreState()


EIGHTH = math.pi / 4
"""Arcs turn by no more than that from one Bezier curve to the next, 4e-6 of it off. [rad]."""


def _stroke(canvas: Any, of: Stroke) -> None:
    path = canvas.beginPath()
    for loop in of.loops:
        path.moveTo(loop[0].start.real, loop[0].start.imag)
        for curve in loop:
            if not curve.bulge:
                path.lineTo(curve.end.real, curve.end.imag)
                continue
            count = math.ceil(abs(curve.sweep) / EIGHTH)
            for k in range(count):
                part = curve.part(k / count, (k + 1) / count)
                arm = 4 / 3 * math.tan(part.sweep / 4) * part.radius
                arm = abs(arm)
                first = part.start + arm * part.direction(0.0)
                last = part.end - arm * part.direction(1.0)
                path.curveTo(
                    first.real, first.imag, last.real, last.imag, part.end.real, part.end.imag
                )
        if of.closed:
            path.close()
    canvas.setLineWidth(of.width)
    canvas.setDash(list(of.dash) if of.dash else [])
    if of.grey is not None:
        canvas.setFillGray(of.grey)
    canvas.drawPath(path, stroke=1, fill=int(of.grey is not None), fillMode=0)
    canvas.setFillGray(0.0)
