"""Many draws of a fit's tolerance through load steps, most of them by the response to the overlap.

Between two changes of what touches and sticks, all of a load step is linear in the overlaps. So a
few chains of load steps are solved, with their responses (:meth:`fea.contact.FittedModel.respond`).
Where the prediction from the nearest of them lets too much of the joint break the laws of contact,
that draw is solved and joins them. In the end every draw is the mean of what all chains predict,
each with the fourth power of its nearness (Shepard's interpolation, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.contact import SLIGHT, Fit, Fitted, FittedModel, Response

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class LoadStep:
    """A load step to be taken with several fits."""

    model: FittedModel  # at the temperature of the step
    forces: Array | None = None  # on the nodes, shape (n, 2) [N]
    after: int | None = None  # load step that it follows, by number; None: nothing was before


@dataclass(frozen=True, eq=False, slots=True)
class Chain:
    """Load steps solved with the same fits, and what they change by with the overlaps."""

    overlaps: Array  # of each side, shape (sides,) [mm]
    steps: tuple[Fitted, ...]
    responses: tuple[Response, ...]


@dataclass(frozen=True, eq=False, slots=True)
class Draws:
    """What each draw does.

    Attributes
    ----------
    sides : tuple of str
        Parts that the part is fitted against, in alphabetical order.
    overlaps : ndarray, shape (draws, sides)
        [mm]
    force : ndarray, shape (draws, steps, sides)
        That presses a side together, summed over its pairs. [N]
    open_share : ndarray, shape (draws, steps)
        Share of the joint that is open, by area.
    broken : ndarray, shape (draws,)
        Share of the joint, in the worst step, where the prediction of the nearest chain breaks the
        laws of contact.
    source : ndarray of int, shape (draws,)
        Nearest chain.
    chains : tuple of Chain
        What was solved.
    """

    sides: tuple[str, ...]
    overlaps: Array
    force: Array
    open_share: Array
    broken: Array
    source: Integers
    chains: tuple[Chain, ...]


def draw_fits(
    steps: Sequence[LoadStep],
    fits: Mapping[str, Fit],
    overlaps: ArrayLike,
    *,
    allowed: float = 0.05,
    most_chains: int = 8,
) -> Draws:
    """Take load steps with many overlaps of the sides.

    Parameters
    ----------
    steps : sequence of LoadStep
    fits : mapping of str to Fit
        Friction of each side, and the overlap that the first chain is solved with.
    overlaps : array_like, shape (draws, sides)
        In the alphabetical order of the sides. [mm]
    allowed : float
        Share of the joint, by area, that may break the laws of contact in a prediction.
    most_chains : int
        Chains to be solved at most; then the predictions are left as they are, and ``broken``
        tells which went too far.

    Raises
    ------
    ValueError
        If the overlaps are not one for each side, or a step follows one that is not before it.
    ContactError
        If what touches is not found.
    """
    sides = tuple(np.unique(steps[0].model.pairs.against).tolist())
    overlaps = np.asarray(overlaps, dtype=float)
    if overlaps.ndim != 2 or overlaps.shape[1] != len(sides):
        raise ValueError(
            f"overlaps have shape {overlaps.shape}; give one each for {', '.join(sides)}."
        )
    for number, step in enumerate(steps):
        if step.after is not None and not 0 <= step.after < number:
            raise ValueError(f"load step {number} can't follow load step {step.after}.")
    centre = np.array([fits.get(side, Fit(bonded=True)).overlap for side in sides])
    spread = np.ptp(overlaps, axis=0) + 1e-12
    chains = [solve_chain(steps, fits, sides, centre)]
    away, predicted = [], []
    while True:
        away.append(np.linalg.norm((overlaps - chains[-1].overlaps) / spread, axis=1))
        predicted.append(_predict(steps, chains[-1], overlaps))
        nearest = np.argmin(away, axis=0)
        broken = np.stack([of[2] for of in predicted])[nearest, np.arange(len(overlaps))]
        worst = int(np.argmax(broken))
        if broken[worst] <= allowed or len(chains) >= most_chains:
            break
        chains.append(solve_chain(steps, fits, sides, overlaps[worst]))
    weight = 1 / (np.stack(away) + 1e-6) ** 4
    weight /= weight.sum(axis=0)
    force, open_share = (
        np.einsum("cd,cd...->d...", weight, np.stack([of[k] for of in predicted])) for k in (0, 1)
    )
    return Draws(sides, overlaps, force, open_share, broken, nearest, tuple(chains))


def solve_chain(
    steps: Sequence[LoadStep], fits: Mapping[str, Fit], sides: Sequence[str], overlaps: Array
) -> Chain:
    """Solve load steps with one overlap for each side, and their responses to it.

    Raises
    ------
    ContactError
        If what touches is not found.
    """
    of = {
        side: replace(fits.get(side, Fit(bonded=True)), overlap=float(overlap))
        for side, overlap in zip(sides, overlaps, strict=True)
    }
    solved: list[Fitted] = []
    responses: list[Response] = []
    for step in steps:
        model = step.model.with_fits(of)
        first = step.after is None
        solved.append(model.solve(step.forces, None if first else solved[step.after or 0]))
        responses.append(model.respond(solved[-1], None if first else responses[step.after or 0]))
    return Chain(np.asarray(overlaps, dtype=float), tuple(solved), tuple(responses))


def _predict(
    steps: Sequence[LoadStep], chain: Chain, overlaps: Array
) -> tuple[Array, Array, Array]:
    """Forces by side, open share, and the share that breaks the laws in the worst step."""
    change = overlaps - chain.overlaps
    forces, opened, broken = [], [], np.zeros(len(overlaps))
    for step, solved, response in zip(steps, chain.steps, chain.responses, strict=True):
        pairs, contact = step.model.pairs, solved.contact
        number = np.searchsorted(response.sides, pairs.against)
        share = pairs.area / pairs.area.sum()
        force = contact.force + change @ response.force
        floor = SLIGHT * np.abs(contact.force).sum() / max(1, contact.closed.sum())
        jump = solved.jumps[: len(share)] + change @ response.jumps[:, : len(share)]
        breaks = np.where(contact.closed, force < -floor, jump + overlaps[:, number] > 0)
        bonded = step.model.bonded
        broken = np.maximum(broken, (breaks & ~bonded) @ share)
        kept = force.clip(0) if not bonded.any() else np.where(bonded, force, force.clip(0))
        forces.append(
            np.stack([kept[:, number == s].sum(axis=1) for s in range(len(response.sides))], axis=1)
        )
        pulled = contact.closed & ~bonded & (force < -floor)
        opened.append((~contact.closed | pulled) @ share)
    return np.stack(forces, axis=1), np.stack(opened, axis=1), broken
