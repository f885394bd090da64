"""Every picture of a solved case, drawn by its subject."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import TYPE_CHECKING

from cases.base.figures import DOTS_PER_INCH, STYLE
from cases.base.subject import Subject
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.text import Text

LONGEST_LINE = 200
"""Of a text that is drawn; a longer one would take hours. [characters]."""


def write_pictures(
    result: CaseResult,
    folder: Path,
    executor: Executor | None = None,
    subjects: Sequence[Subject] = SUBJECTS,
) -> tuple[Path, ...]:
    """Write every picture of a solved case, each as PNG and SVG.

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
    import matplotlib

    written: list[Path] = []
    with matplotlib.rc_context(STYLE):
        for subject, hook in hooks:
            for name, figure in getattr(subject, hook)(result):
                box = "tight" if _spell_out(figure) else None  # codes take more room than letters
                for kind, extra in (
                    ("png", {"pil_kwargs": {"compress_level": 1}}),
                    ("svg", {"metadata": {"Date": None}}),
                ):
                    path = folder / f"{name}.{kind}"
                    figure.savefig(
                        path, dpi=DOTS_PER_INCH, facecolor="white", bbox_inches=box, **extra
                    )
                    written.append(path)
    return written


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
