"""Every picture of a solved case, drawn by its subject."""

from __future__ import annotations

import re
from collections.abc import Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager
from io import BytesIO, StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from cases.base.figures import DOTS_PER_INCH, STYLE
from cases.base.subject import Subject
from cases.case import Case
from cases.report.in_units import draw_in
from cases.report.panels import KEY, Rows, find_panels, told
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.text import Text

COLOURS = 256
"""Of a field in points."""
LINE_DOTS, LINE_COLOURS = 110, 64
"""Of a picture of lines in points, dots an inch; it is there in lines too."""
_IN_PATH = re.compile(r'\bd="[^"]*"')
_LONG_NUMBER = re.compile(r"(\.\d\d)\d+")
_AROUND_LETTER = re.compile(r"\s*([MLQCz])\s*")
_LONG_WINDED = (
    (re.compile(r"<metadata>.*?</metadata>", re.DOTALL), ""),
    (re.compile(r"^ +", re.MULTILINE), ""),
    (re.compile(r"\n{2,}"), "\n"),
    (re.compile(r"DejaVuSans-"), "g"),
    (re.compile(r' transform="translate\(([-\d.]+) ([-\d.]+)\)"/>'), r' x="\1" y="\2"/>'),
    (re.compile(r' y="0"/>'), "/>"),
    (re.compile(r'(?<!scale\()(\b\d+\.\d{3})\d+(?=[" )])'), r"\1"),
)
"""What is left out of an SVG, and said shorter: a letter's place is that of its outline."""
LONGEST_LINE = 200
"""Of a text that is drawn; a longer one would take hours. [characters]."""


def write_pictures(
    result: CaseResult,
    folder: Path,
    executor: Executor | None = None,
    subjects: Sequence[Subject] = SUBJECTS,
) -> tuple[Path, ...]:
    """Write every picture of a solved case as PNG, and as SVG where it is more than fields.

    Parameters
    ----------
    result : CaseResult
    folder : Path
        Must exist.
    executor : concurrent.futures.Executor, optional
        Draws the maps while the rest is drawn here.
    subjects : sequence of Subject
        In order.

    Returns
    -------
    tuple of Path
        Files written, maps first; the name before the dot is what the subject calls the picture.
    """
    maps, figures = ([(subject, hook) for subject in subjects] for hook in ("maps", "figures"))
    if executor is None:
        return tuple(_write([*maps, *figures], result, folder))
    drawing = executor.submit(_write, maps, result, folder)
    drawn = _write(figures, result, folder)
    return (*drawing.result(), *drawn)


def _write(hooks: Sequence[tuple[Subject, str]], result: CaseResult, folder: Path) -> list[Path]:
    written: list[Path] = []
    with in_style():
        for subject, hook in hooks:
            for name, figure in getattr(subject, hook)(result):
                written += write_picture(figure, result.case, folder / name, hook == "figures")
    return written


def in_style() -> AbstractContextManager[None]:
    """In which figures are made and written."""
    import matplotlib

    return matplotlib.rc_context(STYLE)


def write_picture(figure: Figure, case: Case, path: Path, lines: bool = True) -> list[Path]:
    """Write a picture, in the units that a case speaks.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Made ``in_style``.
    case : Case
    path : Path
        Without its ending.
    lines : bool
        Whether it is more than fields, and is written as SVG too.

    Returns
    -------
    list of Path
    """
    draw_in(figure, case)
    box = "tight" if _spell_out(figure) else None  # codes take more room than letters
    panels = [] if box else find_panels(figure)
    png, svg = (path.with_name(f"{path.name}.{ending}") for ending in ("png", "svg"))
    _save_png(figure, png, box, lines, panels)
    if not lines:
        return [png]
    _save_svg(figure, svg, box, panels)
    return [png, svg]


def _save_png(figure: Figure, path: Path, box: str | None, lines: bool, panels: Rows) -> None:
    """A picture in few colours, spread over all that it has: a quarter of the size.

    None is more than 14 of 255 off in the largest fields; a median cut is up to 54 off in the dark.
    """
    from PIL.Image import Dither, Quantize
    from PIL.Image import open as picture_of
    from PIL.PngImagePlugin import PngInfo

    page, dots = BytesIO(), LINE_DOTS if lines else DOTS_PER_INCH
    figure.savefig(
        page, format="png", dpi=dots, facecolor="white", bbox_inches=box,
        pil_kwargs={"compress_level": 0},
    )  # fmt: skip
    full = picture_of(page).convert("RGB")
    colours = LINE_COLOURS if lines else COLOURS
    few = full.quantize(colours, method=Quantize.MAXCOVERAGE, dither=Dither.NONE)
    says = PngInfo()
    if panels:
        says.add_text(KEY, told(panels))
    few.save(path, optimize=True, dpi=(dots, dots), pnginfo=says)


def _save_svg(figure: Figure, path: Path, box: str | None, panels: Rows) -> None:
    """A picture in lines, their places to a hundredth of a point, as short as it can be said."""
    page = StringIO()
    figure.savefig(
        page, format="svg", facecolor="white", bbox_inches=box, metadata={"Date": None}
    )  # fmt: skip
    text = page.getvalue()
    for pattern, instead in _LONG_WINDED:
        text = pattern.sub(instead, text)
    text = _IN_PATH.sub(_short_path, text)
    if panels:
        text = text.replace("<svg ", f"<svg data-{KEY}='{told(panels)}' ", 1)
    path.write_text(text, encoding="utf-8")


def _short_path(path: re.Match[str]) -> str:
    return _AROUND_LETTER.sub(r"\1", _LONG_NUMBER.sub(r"\1", path[0]))


def _spell_out(figure: Figure) -> bool:
    """Write letters that the font of a picture lacks as their codes; whether there are any.

    Only numbers along an axis may be formulas, powers of ten; elsewhere a ``$`` is a letter.
    """
    from matplotlib.axis import Axis
    from matplotlib.text import Text

    spelled = False
    along = []
    for axis in figure.findobj(Axis):
        along += axis.get_ticklabels(which="both")
        names = [label.get_text() for label in axis.get_ticklabels()]
        coded = [_coded(label) for label in axis.get_ticklabels()]
        if coded != names:
            axis.set_ticklabels(coded)
            spelled = True
    for text in set(figure.findobj(Text)) - set(along):
        text.set_parse_math(False)
        if (coded_text := _coded(text)) != text.get_text():
            text.set_text(coded_text)
            spelled = True
    return spelled


def _coded(text: Text) -> str:
    """What a text says, each letter that its font lacks as its code; endless lines cut."""
    from matplotlib.font_manager import findfont, get_font

    lines = text.get_text().split("\n")
    said = "\n".join(
        line if len(line) <= LONGEST_LINE else f"{line[:LONGEST_LINE]}..." for line in lines
    )
    if said.isascii():
        return said
    known = get_font(findfont(text.get_fontproperties())).get_charmap()
    return "".join(
        letter
        if letter.isspace() or ord(letter) in known
        else letter.encode("unicode_escape").decode("ascii")
        for letter in said
    )
