"""Numbers that steer the search for what touches."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactSettings:
    """What a search may cost, what counts as none, and how soft the springs are.

    The answer doesn't depend on them beyond what is none; whether it is found, and how soon, does.
    """

    # how long sets are sought
    most_iterations: int = 30  # systems that one attempt at a load step, or part of one, may take
    most_at_once: int = 14  # sets of an attempt before it is begun anew from inside
    most_alone: int = 48  # the same where the joint is condensed, so that a set costs little
    most_halvings: int = 2  # times that a load step whose sets are not found is halved
    over: int = 2  # sets over which the pairs that change have to become fewer
    over_alone: int = 16  # the same where the joint is condensed
    slow: float = 0.5  # share of the pairs that changed so many sets before above which, if they
    few: int = 5  # are more pairs than these, the sets are not on their way
    most_returns: int = 8  # of a pair from sliding to sticking; then it slides on
    returns_near: int = 1  # the same near the solution
    patient: int = 10  # iterations with the first tolerances
    patient_alone: int = 32  # the same where the joint is condensed
    patient_near: int = 2  # the same near the solution
    easier: float = 1.35  # factor by which they grow with each further iteration
    # the joint by itself
    most_condensed: int = 4000  # jumps of the largest joint that is condensed
    most_kept: int = 3  # condensed joints that are kept, by the pieces that are loose
    most_sweeps: int = 30  # solutions that one set of pairs may take until its friction is settled
    # springs that keep a piece, over the stiffness of the metal at its nodes
    aid: float = 1e-7
    loose_aid: float = 1e-4  # of a piece that is loose
    weaker: float = 10.0  # factor by which that falls while the piece moves on
    weak_aid: float = 1e-3  # share of the first left near the solution: an open ring is that soft
    soft: float = 0.01  # of springs along a whole joint that show where it opens
    most_ties: int = 6  # times that they are tied anew before they are made weaker
    most_weakened: int = 4  # times that they are made weaker before a piece is said to go far
    fewest: int = 4  # pairs that touch and can keep a piece
    farthest: float = 0.5  # jump beyond the largest overlap that only a loose piece makes [mm]
    farthest_near: float = 5.0  # the same near the solution, of a piece that nothing holds [mm]
    # what is none
    unmoved: float = 1e-6  # motion from one time that springs are tied to the next [mm]
    unfelt: float = 1e-5  # pull of the springs of a piece, whatever presses it [N]
    rough: float = 0.1  # change of friction, over the largest, let pass while the sets change
    settled: float = 1e-5  # the same when they don't
    agreed: float = 1e-7  # the same, and difference from the whole section, of a joint by itself
    slight: float = 1e-4  # pull on a pair, or friction beyond its limit, over a pair's mean force
    closes: float = 1e-6  # overlap that closes no pair [mm]
    slips: float = 1e-6  # slip against the friction that does not stop it [mm]
    no_friction: float = 1e-6  # friction coefficient
    as_equal: float = 1e-3  # difference of two shares of a compound's strength, over the share
    # from inside
    most_systems: int = 16  # that may be factored
    near: float = 1e-7  # mean product, over the first, at which to stop when the sets are still
    nearest: float = 1e-9  # the same at which to stop anyway
    still: int = 2  # pairs that may change sets from one system to the next
    inside: float = 0.99  # share of the way to where the first number is 0 that is gone
    most_corrections: int = 3  # further ones of a step, one back-substitution each
    long: float = 0.95  # share of a step that needs no correction
    longer: float = 0.02  # gain below which none helps
    uneven: float = 10.0  # factor by which a product may lie off the one aimed at


SETTINGS = ContactSettings()
