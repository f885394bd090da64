"""Every picture of a solved case, drawn by its subject."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path

from cases.base.figures import DOTS_PER_INCH, STYLE
from cases.base.subject import Subject
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS


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
                for kind, extra in (
                    ("png", {"pil_kwargs": {"compress_level": 1}}),
                    ("svg", {"metadata": {"Date": None}}),
                ):
                    path = folder / f"{name}.{kind}"
                    figure.savefig(path, dpi=DOTS_PER_INCH, facecolor="white", **extra)
                    written.append(path)
    return written
