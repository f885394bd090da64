"""Draws of a fit's tolerance: the response to an overlap, and predictions against full solves."""

import numpy as np
import pytest
from sections import LOCAL, SINGLE, section
from test_fea_contact import MATERIALS, SIDES, gas, heat

from fea.contact import Fit, FittedModel
from fea.draws import LoadStep, draw_fits, solve_chain
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import part_off

ORDER = ("barrel", "outer wall", "tie")
FITS = {part: Fit(overlap=0.012, friction=0.15) for part in SIDES}


@pytest.fixture(scope="module")
def steps():
    outline = draw_section(section(SINGLE, LOCAL))
    parted = part_off(mesh_outline(outline, element_size=10.0, detail=0.3), "insert")
    cold = FittedModel(parted, MATERIALS, FITS)
    warm = cold.at(heat(parted))
    load = gas(warm, 300.0)
    return (
        LoadStep(cold),
        LoadStep(warm, after=0),
        LoadStep(warm, load, after=1),
        LoadStep(cold, load, after=0),
    )


def forces(steps, chain):
    against = steps[0].model.pairs.against
    return np.array(
        [[step.contact.force[against == side].sum() for side in ORDER] for step in chain.steps]
    )


def test_response_is_the_slope_of_a_full_solve(steps):
    """By central differences so small that no pair changes."""
    centre, h = np.full(3, 0.012), 2e-6
    chain = solve_chain(steps, FITS, ORDER, centre)
    for side in range(3):
        moved = [
            solve_chain(steps, FITS, ORDER, centre + sign * h * np.eye(3)[side]).steps
            for sign in (1, -1)
        ]
        for number, (more, less) in enumerate(zip(*moved, strict=True)):
            response = chain.responses[number]
            assert response.sides == ORDER
            slope = (more.contact.force - less.contact.force) / (2 * h)
            off = np.abs(response.force[side] - slope).max()
            assert off < 1e-3 * np.abs(slope).max()
            slope = (more.solution.displacement - less.solution.displacement) / (2 * h)
            off = np.abs(response.displacement[side] - slope).max()
            assert off < 1e-3 * np.abs(slope).max()


def test_predictions_against_full_solves(steps):
    rng = np.random.default_rng(7)
    overlaps = 0.012 + rng.uniform(-0.004, 0.004, (20, 3))
    draws = draw_fits(steps, FITS, overlaps, most_chains=6)
    assert draws.sides == ORDER
    assert len(draws.chains) <= 6
    area = steps[0].model.pairs.area
    for number, overlap in enumerate(overlaps):
        chain = solve_chain(steps, FITS, ORDER, overlap)
        exact = forces(steps, chain)
        assert draws.force[number].sum(axis=1) == pytest.approx(exact.sum(axis=1), rel=0.05)
        opened = [(~step.contact.closed) @ area / area.sum() for step in chain.steps]
        assert draws.open_share[number] == pytest.approx(np.array(opened), abs=0.08)


def test_a_draw_that_was_solved_is_exact(steps):
    overlaps = np.array([[0.012, 0.012, 0.012], [0.006, 0.018, 0.012]])
    draws = draw_fits(steps, FITS, overlaps, allowed=0.0, most_chains=3)
    assert len(draws.chains) >= 2
    exact = forces(steps, solve_chain(steps, FITS, ORDER, overlaps[1]))
    assert draws.force[1] == pytest.approx(exact, rel=1e-6)
    assert (draws.source == [0, 1]).all()


def test_what_can_not_be_drawn(steps):
    with pytest.raises(ValueError, match="give one each for barrel, outer wall, tie"):
        draw_fits(steps, FITS, np.zeros((5, 2)))
    with pytest.raises(ValueError, match="load step 0 can't follow load step 1"):
        draw_fits([LoadStep(steps[0].model, after=1)], FITS, np.zeros((5, 3)))
