"""Insert and pocket as solids, in STEP files."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from cases.making.make import Making

INSERT, POCKET = "insert.step", "pocket.step"
OFF = 1e-3
"""Of a volume over the integral of depth over area, that a file may be wrong by."""


def write_steps(making: Making, folder: Path) -> tuple[str, ...]:
    """Write both files; what was not written as it came out wrong, in words.

    Parameters
    ----------
    making : Making
    folder : Path
    """
    from geometry.cad import write_solids

    found = write_solids(making.section, making.pieces, folder / INSERT, folder / POCKET)
    wrong = [
        piece.number
        for piece, volume, known in zip(making.pieces, found.volumes, making.volumes, strict=True)
        if abs(volume - known) > OFF * known
    ]
    return tuple(_dropped(folder / INSERT, wrong))


def _dropped(path: Path, wrong: list[int]) -> Iterator[str]:
    if wrong:
        path.unlink()
        numbers = ", ".join(map(str, wrong))
        yield f"{INSERT} is not written: solids of pieces {numbers} came out with a wrong volume."
