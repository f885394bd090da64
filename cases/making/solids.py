"""Insert and pocket as solids, in STEP files."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from geometry.cut_pieces import CutPiece
from geometry.section import DeckSection

if TYPE_CHECKING:  # a process that writes solids needs nothing of it
    from cases.making.make import Making

INSERT, POCKET = "insert.step", "pocket.step"
OFF = 1e-3
"""Of a volume over the integral of depth over area, that a file may be wrong by."""


@contextmanager
def steps_written(making: Making, folder: Path) -> Iterator[Callable[[], tuple[str, ...]]]:
    """Write both files while the block under ``with`` does other things, where there are two cores.

    Gives what waits for them, and says in words what was not written as it came out wrong.

    Parameters
    ----------
    making : Making
    folder : Path
    """
    from cases.base.workers import side_by_side

    asked = making.section, making.pieces, folder
    with side_by_side(2) as executor:
        working = executor.submit(_volumes, *asked) if executor else None

        def wrong() -> tuple[str, ...]:
            found = working.result() if working else _volumes(*asked)
            return tuple(_dropped(folder / INSERT, _wrong(making, found)))

        yield wrong


def _volumes(section: DeckSection, pieces: Sequence[CutPiece], folder: Path) -> tuple[float, ...]:
    """Volumes of the pieces that are written; only who does it takes the modeller in."""
    from geometry.cad import write_solids

    return write_solids(section, pieces, folder / INSERT, folder / POCKET).volumes


def _wrong(making: Making, volumes: Sequence[float]) -> list[int]:
    """Numbers of pieces whose solids have another volume than they are to have."""
    return [
        piece.number
        for piece, volume, known in zip(making.pieces, volumes, making.volumes, strict=True)
        if abs(volume - known) > OFF * known
    ]


def _dropped(path: Path, wrong: list[int]) -> Iterator[str]:
    if wrong:
        path.unlink()
        numbers = ", ".join(map(str, wrong))
        yield f"{INSERT} is not written: solids of pieces {numbers} came out with a wrong volume."
