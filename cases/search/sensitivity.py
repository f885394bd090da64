"""How much each free number moves what is wanted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cases.search.found import WANTED
from cases.search.seek import FIT, Result
from cases.search.space import Number

MORE = 2
"""Designs beyond the unknowns of the straight line, at the least; those that differ by their
interference alone count as one, which tells of nothing else."""
NOTHING = 1e-9
"""Share of what is wanted that a move is none below."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What one free number or word moves."""

    name: str
    least: str
    most: str
    moves: tuple[float, ...]  # of each that is wanted, in its unit, from least to most


def sensitivities(result: Result) -> list[Moves] | None:
    """Slopes of a straight line by least squares; None where too few designs tell them apart.

    A word counts from the first of its list to another.
    """
    columns: list[np.ndarray] = []
    told: list[tuple[str, str, str]] = []
    for one in result.given.space:
        values = [of.point[one.name] for of in result.seen]
        if isinstance(one, Number):
            shares = (np.array(values, dtype=float) - one.least) / (one.most - one.least)
            columns.append(shares)
            told.append((one.name, f"{one.least:g}", f"{one.value(one.count - 1):g}"))
            continue
        for word in one.options[1:]:
            columns.append(np.array([value == word for value in values], dtype=float))
            told.append((one.name, one.options[0], word))
    unlike = {tuple(of for of in seen.point.items() if of[0] != FIT) for seen in result.seen}
    if len(unlike) < sum(name != FIT for name, *_ in told) + 1 + MORE:
        return None
    design = np.column_stack([np.ones(len(result.seen)), *columns])
    if np.linalg.matrix_rank(design) < design.shape[1]:
        return None
    wanted = [
        [WANTED[want].value(of.coarse) or 0.0 for want in result.given.wanted] for of in result.seen
    ]
    slopes = np.linalg.lstsq(design, np.array(wanted), rcond=None)[0][1:]
    slopes[np.abs(slopes) <= NOTHING * np.abs(wanted).max(axis=0)] = 0.0
    return [Moves(*names, tuple(row)) for names, row in zip(told, slopes.tolist(), strict=True)]
