"""Numbers that steer refinement from mesh to mesh."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Refinement:
    """Numbers that steer the way from mesh to mesh."""

    tolerance: float = 0.02  # error of a spot, as a share of its stress, at which it is settled
    most_passes: int = 5  # meshes made at most for the spots
    finer_passes: int = 3  # further ones at most, where the mesh is too coarse for its self-checks
    most_unknowns: int = 250_000  # of a mesh; one that would need more is not made
    # error that comes from further away
    goal: float = 0.2  # for the sum of what all triangles bring to a spot, over the tolerance
    far_share: float = 0.35  # of that sum that counts as error; most of it cancels
    near_elements: float = 3.0  # from a spot within which the gap there alone judges a triangle
    # element sizes
    finest: float = 0.25  # share of an element's size to which it may shrink in one pass
    at_junction: float = 0.25  # the same at a spot near a junction that is not settled
    coarsest: float = 2.0  # the same to which it may grow
    growth: float = 1.5  # of elements away from a triangle of the last mesh, at most [mm/mm]
    growth_at_spot: float = 0.4  # the same from a spot [mm/mm]
    made: float = 0.35  # growth that a mesh has, however fast it may be [mm/mm]
    parity: float = 1.05  # sizes wished over those of a mesh that give about as many elements again
    flat: float = 0.6  # equilateral side of a triangle's area over its longest side, if it is flat
    kept: float = 0.8  # wish at a settled spot, over its element size, that keeps it as fine
    safety: float = 0.5  # what an unsettled spot's elements shrink by beyond the need, at least
    halved: float = 0.5  # what elements shrink by where a gauge is not settled
    finer: float = 0.7  # size of all elements over the last where self-checks ask for a finer mesh
    # judging a spot
    told: float = 1.0  # factor on the error that a spot is told with
    told_at_junction: float = 1.0  # the same near a junction
    least_told: float = 0.0  # error that is told at the least, over the worst stress of a state
    two_witnesses: bool = False  # whether one that is new is set against the stress there before
    order: float = 2  # of convergence that a change between two passes is judged by
    order_at_junction: float = 1  # the same near a junction
    unabated: bool = False  # whether each halving near a junction is taken to bring the same
    weak: float = 0.1  # share of the worst stress that a spot's error is set against at the least
    edge_of: float = 0.0  # share of the worst of its part from which a spot's edge shrinks with it
    level: float = 0.05  # difference, as a share, of stress that is as high as an unsettled spot's
    same_place: float = 4.0  # that a spot may move by from one pass to the next [mm]
    on_junction: float = 1.0  # share of an element size from a junction that is on it
    junction_elements: float = 6.0  # within which of a junction one pass is not believed
    # a sharp corner: its stress grows by 2 % or more whenever the elements are halved
    lasting: float = 0.03  # exponent above which a stress that does not slow is a sharp corner's
    slowing: float = 0.6  # share of its last exponent below which a stress settles
    enough: float = 10.0  # factor in element size over which a sharp corner's exponent is fitted


REFINEMENT = Refinement()
