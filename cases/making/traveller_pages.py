"""The traveller on paper: boxes laid below each other on upright pages, and its plan."""

from __future__ import annotations

from pathlib import Path

from markupsafe import Markup

from cases.base.cautions import CAUTIONS
from cases.base.templates import render
from cases.making.make import Making
from cases.making.paper import (
    HEIGHT,
    LARGE,
    NORMAL,
    PAPERS,
    SMALL,
    THICK,
    THIN,
    WIDTH,
    Entry,
    Page,
    Stroke,
    Words,
    box,
    clipped,
    drawn,
    folded,
    moved,
    ruled,
    wide,
    write_pdf,
)
from cases.making.traveller import Blank, Box, Grid, Line, Traveller
from geometry.cut_pieces import CutPiece, middle_of
from geometry.planar import circle

ROWS = (5.6, 5.2, 4.8, 4.4, 4.0, 3.7)
"""Heights of a row with blanks, from the best to the least that a hand fills. [mm]."""
SIDES = 2
"""Of one sheet."""
ACROSS, HIGH = HEIGHT, WIDTH
LEAD = 3.9
"""From line to line. [mm]."""
PLAN = 46.0
"""Height of the plan. [mm]."""
MOST_TOGETHER = 4
"""Rows of a step's first table that are not parted from its heading."""
BESIDE = 6.0
"""Nearer to the next point on its right, a letter stands on the left. [mm]."""
BREAK = 2.5
"""Between boxes. [mm]."""

Item = Stroke | Words | Entry


def traveller_pages(making: Making, sheet: Traveller) -> list[Page]:
    """The sheet, its rows as high as two sides have room for."""
    for row in ROWS:
        pages = _laid(making, sheet, row)
        if len(pages) <= SIDES:
            break
    return pages


def _laid(making: Making, sheet: Traveller, row: float) -> list[Page]:
    flow = _Flow(f"{making.case.name}: traveller of {making.design.name}", row)
    flow.add(_head(sheet), 9.5 + LEAD)
    lines = folded(sheet.verdict, ACROSS, NORMAL, bold=True)
    flow.words(lines, bold=True)
    flow.add(traveller_plan(making, sheet), PLAN + 1)
    for of in sheet.boxes:
        flow.box(of)
    return flow.done()


class _Flow:
    """Items down one page after the other."""

    def __init__(self, title: str, row: float) -> None:
        self.title, self.row = title, row
        self.pages: list[list[Item]] = [[]]
        self.y = HIGH

    def room(self, height: float) -> None:
        """A new page where a height [mm] is not left."""
        if self.y - height < 5.0:
            self.pages.append([])
            self.y = HIGH

    def add(self, items: list[Item], height: float) -> None:
        """Items drawn from y = 0 down."""
        self.room(height)
        self.pages[-1] += [_down(of, self.y) for of in items]
        self.y -= height

    def words(self, lines: list[str], bold: bool = False) -> None:
        """Lines of words."""
        for text in lines:
            of = Words(at=complex(0, -0.75 * LEAD), text=text, bold=bold)
            self.add([of], LEAD)

    def box(self, of: Box) -> None:
        """A box, parted where a page ends."""
        self.room(4 * LEAD + self.row * (2 + max(map(_rows, of.parts[:3]), default=0)))
        self.y -= BREAK
        self.add(
            [
                box(complex(0, -4.6), complex(ACROSS, 0), THIN, 0.88),
                Words(at=complex(1, -3.5), text=of.title, size=3.4, bold=True),
                *_signed(of),
            ],
            5.2,
        )
        for part in of.parts:
            if isinstance(part, Grid):
                self.grid(part)
            else:
                self.line(part)

    def line(self, line: Line) -> None:
        """Words and blanks one after the other, on as many lines as they need."""
        blanks = any(isinstance(of, Blank) for of in line)
        high = self.row if blanks else LEAD
        if len(line) == 1 and isinstance(line[0], str):
            self.words(folded(line[0], ACROSS))
            return
        x = 0.0
        items: list[Item] = []
        for cell, after in zip(line, (*line[1:], ""), strict=True):
            needs = cell.width if isinstance(cell, Blank) else wide(cell) + 1
            if not isinstance(cell, Blank) and isinstance(after, Blank):
                needs += after.width
            if x and x + needs > ACROSS:
                self.add(items, high)
                x, items = 0.0, []
            if isinstance(cell, Blank):
                items += _blank(cell, x, -high, cell.width, high)
                x += cell.width + 3
            else:
                text = clipped(cell, ACROSS - x)
                items.append(Words(at=complex(x, -high + 1.1), text=text))
                x += wide(text) + 1
        self.add(items, high)

    def grid(self, grid: Grid) -> None:
        """A table, its heads again on the next page."""
        heads = [folded(head, width - 1, SMALL) for head, width in
                 zip(grid.heads, grid.widths, strict=True)]  # fmt: skip
        height = 2.9 * max(map(len, heads)) + 0.8
        for place, row in enumerate(grid.rows):
            if place == 0 or self.y - self.row < 5.0:
                self.room(height + self.row + 1)
                self.y -= 0.8 if self.y < HIGH else 0.0
                self.add(self.heads(grid, heads, height), height)
            items: list[Item] = []
            x = 0.0
            for cell, width in zip(row, grid.widths, strict=True):
                low, high = complex(x, -self.row), complex(x + width, 0)
                items.append(box(low, high))
                if isinstance(cell, Blank):
                    items += _blank(cell, x, -self.row, width, self.row, ruled_=False)
                else:
                    text = clipped(cell, width - 1)
                    at = complex(x + 0.7, -self.row / 2 - 0.95)
                    items.append(Words(at=at, text=text))
                x += width
            self.add(items, self.row)
        self.y -= 1.0

    def heads(self, grid: Grid, heads: list[list[str]], height: float) -> list[Item]:
        items: list[Item] = []
        x = 0.0
        for lines, width in zip(heads, grid.widths, strict=True):
            items.append(box(complex(x, -height), complex(x + width, 0), THIN, 0.94))
            items += [
                Words(at=complex(x + 0.7, -2.3 - 2.9 * k), text=text, size=SMALL)
                for k, text in enumerate(lines)
            ]
            x += width
        return items

    def done(self) -> list[Page]:
        """The pages, numbered."""
        count = len(self.pages)
        return [
            Page(
                title=self.title, upright=True,
                items=(*items, Words(
                    at=complex(ACROSS, 0.8), anchor="end", size=SMALL,
                    text=f"{self.title}, side {number} of {count}. Estimate, see cautions.")),
            )
            for number, items in enumerate(self.pages, 1)
        ]  # fmt: skip


def _rows(part: Line | Grid) -> int:
    """Rows of a table that are to stand on the page of its heading; a long one may part."""
    return min(len(part.rows), MOST_TOGETHER) if isinstance(part, Grid) else 0


def _signed(of: Box) -> list[Item]:
    """Who and when, in the heading of a step."""
    items: list[Item] = []
    for blank, x in zip(of.signed, (ACROSS - 82, ACROSS - 34), strict=False):
        width = blank.width
        items.append(Words(at=complex(x - 1, -3.3), text=blank.field, anchor="end"))
        items.append(box(complex(x, -4.4), complex(x + width, -0.2), THIN, 1.0))
        items += _blank(blank, x, -4.4, width, 4.2, ruled_=False)
    return items


def _down(of: Item, y: float) -> Item:
    by = complex(0, y)
    if isinstance(of, Stroke):
        return Stroke(
            loops=tuple(moved(loop, 1.0, by) for loop in of.loops), width=of.width, dash=of.dash,
            closed=of.closed, grey=of.grey, name=of.name,
        )  # fmt: skip
    if isinstance(of, Words):
        return Words(
            at=of.at + by, text=of.text, size=of.size, anchor=of.anchor, turn=of.turn,
            bold=of.bold, name=of.name,
        )  # fmt: skip
    return Entry(low=of.low + by, width=of.width, height=of.height, name=of.name)


def _blank(
    of: Blank, x: float, y: float, width: float, height: float, ruled_: bool = True
) -> list[Item]:
    items: list[Item] = []
    if ruled_:
        items.append(ruled(complex(x, y + 0.6), complex(x + width, y + 0.6)))
    items.append(
        Entry(low=complex(x + 0.3, y + 0.4), width=width - 0.6, height=height - 0.8, name=of.name)
    )
    return items


def _head(sheet: Traveller) -> list[Item]:
    items: list[Item] = [
        Words(at=complex(0, -4.5), text="Traveller", size=5.0, bold=True),
        Words(at=complex(ACROSS, -3), anchor="end", size=SMALL,
              text="Every length in mm and inches. Clock looking down on the deck, 12:00 at the "
              "datum."),
    ]  # fmt: skip
    half = (len(sheet.head) + 1) // 2
    for line, some in enumerate((sheet.head[:half], sheet.head[half:])):
        text = "    ".join(f"{name}: {value}" for name, value in some)
        at = complex(0, -9.0 - line * LEAD)
        items.append(Words(at=at, text=clipped(text, ACROSS)))
    return items


def traveller_plan(making: Making, sheet: Traveller) -> list[Item]:
    """Numbered pieces and the worst points, seen looking down on the deck, from y = 0 down."""
    block = making.case.block
    across = block.axes[-1] - block.axes[0] + 2 * block.outside_radius
    room = ACROSS - 62.0
    scale = min(room / across, (PLAN - 2) / (2 * block.outside_radius))
    at = complex(scale * (block.outside_radius - block.axes[0]), -PLAN / 2)
    items: list[Item] = [
        Stroke(loops=tuple(
            moved(circle(axis, block.bore / 2), scale, at) for axis in block.axes),
            dash=(1.0, 0.7), closed=True)
    ]  # fmt: skip
    items += [
        Stroke(loops=tuple(moved(loop, scale, at) for loop in piece.loops), width=0.3,
               closed=True, grey=0.88, name="piece")
        for piece in making.pieces
    ]  # fmt: skip
    for bore, axis in enumerate(block.axes, 1):
        items.append(Words(at=scale * axis + at - 1j, text=f"bore {bore}", size=SMALL,
                           anchor="middle"))  # fmt: skip
    for piece in making.pieces:
        spot = scale * number_at(making, piece) + at
        items += [
            Stroke(loops=(tuple(circle(spot, 1.9)),), width=THIN, closed=True, grey=1.0),
            Words(at=spot - 0.95j, text=str(piece.number), size=SMALL, bold=True, anchor="middle",
                  name="number"),
        ]  # fmt: skip
    x = ACROSS - 58.0
    spots = [scale * z + at for z, _ in sheet.worst]
    for k, (_, words) in enumerate(sheet.worst):
        letter, spot = "ABC"[k], spots[k]
        crowded = any(0 < (of - spot).real < BESIDE > abs((of - spot).imag) for of in spots)
        items += [
            Stroke(loops=(tuple(circle(spot, 1.1)),), width=THICK, closed=True, grey=1.0),
            Words(at=spot + complex(-1.8 if crowded else 1.8, -0.9), text=letter,
                  anchor="end" if crowded else "start", size=LARGE * 0.8, bold=True),
        ]  # fmt: skip
        items += [
            Words(at=complex(x, -6 - 8 * k - 3.4 * row), text=text)
            for row, text in enumerate(folded(f"{letter}: {words}", 58))
        ]
    told = "Worst points of its rating:" if sheet.worst else "No rating: no worst points."
    items.append(Words(at=complex(x, -2), text=told, bold=True))
    return items


def number_at(making: Making, piece: CutPiece) -> complex:
    """Where a piece's number stands: in the middle of it."""
    insert = making.design.insert
    assert insert is not None
    along = middle_of(making.case.block, insert, piece)
    return complex(along[len(along) // 2]) if len(along) else piece.loops[0][0].start


def plan_picture(making: Making, sheet: Traveller) -> str:
    """The plan alone, for the page."""
    items = tuple(_down(of, PLAN) for of in traveller_plan(making, sheet))
    return drawn(items, ACROSS, PLAN, "plan")


def write_traveller(making: Making, sheet: Traveller, folder: Path) -> None:
    """Write the page, and the sheet on each paper."""
    pages = traveller_pages(making, sheet)
    for paper in PAPERS:
        write_pdf(pages, paper, folder / f"traveller-{paper}.pdf")
    text = render(
        "making/traveller.html.j2",
        making=making,
        sheet=sheet,
        cautions=CAUTIONS,
        plan=Markup(plan_picture(making, sheet)),
    )
    (folder / "traveller.html").write_text(text, encoding="utf-8")
