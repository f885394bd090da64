"""What a design stands: cycles of stress set against strength, the limit, and its band.

``Judge`` turns the cycles of a life, idle and at gas, into shares of strength, node by node:
fatigue (criterion, mean-stress line, Basquin's line, knock-downs), tensile strength, yield.
``rate_design`` seeks the gas load at which the largest share is one (``brentq`` on logarithms:
shares grow about as a power of the load), three to six solves of each state. Cold counts
``cold_cycles``, warm ``cycles``; without heat there is one state, and it counts ``cycles``.
From the cold engine that stands to the warm one at gas and back is a cycle of its own, ``starts``
times, whose damage is added to that of the warm engine's (Miner).

Yield counts what the gas adds to the stress (by the theorems of limit analysis heat and fit don't
move the load of collapse) and is met where all but 0.2 % of the block's metal, by volume, stays
below it: the edge of a contact is steep, and a notch root that yields does not fail by that. With
the whole stress a hot web between bores, pressed by heat alone, stood at 0.8 whatever the gas.

Of a bank what is about the bore that fires is rated, the walls to its neighbours included, of any
design and for yield too: what is about another is worst when that one fires, and the mesh is made
for the one that does. ``firing_bore`` says which. What its own gas pulls may be pushed when the
next bore fires: a cycle goes from there where that wears harder (:mod:`cases.rating.next_bore`).
What the next bore adds is solved once and grows with its gas.

What is steep is never judged by the stress at the place: within 0.5 mm, or one and a half elements,
of a corner drawn sharp, of the end of a joint or bond, and at a spot that counts and whose error is
above 10 %, the mean over 2L counts (line method of :mod:`fea.strength.distance`), from free edges
along their normal, from within away from the steep place. Ways and their weights are found once for
a mesh; each gas load is a product. Where half of what the worst uses is used and that mean leads
out of the metal, or is not known to 10 % on these elements, the limit is ``at_most``; so too where
the threshold of the metal is not known.

A cycle that never pulls across the largest principal stress counts as none and, by Goodman or
Gerber, counts whole once it pulls by a fifth of its amplitude, between the two in proportion: a
squeezing mean gets no other credit, and no share jumps where a cycle begins to pull.

What is left of the fatigue strength of bars is by casting quality, or by the largest pore where
that is stated (:mod:`cases.rating.flaws`), and by the surface. Strengths when hot are those after
``hours_hot`` (:mod:`cases.materials.hot`).

The limit that is told is what ``reliability`` of the draws carry, the one that is solved is kept as
the nominal one; ``worth.py`` tells what each assumption on strength takes off it.

``band_of`` solves five gas loads at three fits, keeps the nodes that use most (up to 20 of a
layer), and reads stress between them along straight lines, from the state without gas on; each
draw's limit is found by bisection. Half a tolerance and an eighth of the load off what was solved,
shares are read within 10 % (mostly 5 %) of a full solve on the test block. Strength is lognormal by
material, and so is the size of a pore, pressure normal, fit and walls even, and what sources that
disagree leave of a hot strength. Walls count by one more design, solved with all of
its barrel walls thinner. Causes are squared correlations, made to sum to one: they see the straight
part of a dependence.

Where the engine heats the block, a draw that carries more is hotter too. What heat does to a place
(temperature, strength that hours hot have left, stress without gas and at it) is read along
straight lines between the heats of the loads that the search for the limit solved, one of less load
solved where there are none (:mod:`cases.rating.own_heat`), to 1.3 times beyond them. On the bench
block metal of 0.82 and of 1.2 times the strength so carried 1.39 and 1.65 of the load, solved whole
1.39 and 1.64; held at the heat of the limit 1.21 and 1.85. With an insert that heat presses 0.67,
solved whole 0.68; held, nothing. Beside a solid that decides, the section's own heat is not sought:
it is at that of the solid's limit, and what walls do there shifts the draws of the solid.

The band of a limit by the solid is drawn with the solid's own places (``band_of_solid``), eight of
a part and state at most, 4 mm apart, in the gas loads that were solved on the way to its limit.
Another fit is another solid; walls shift it as they shift the section's limit alone, for which two
gas loads and one more design are solved (``shifts_of``): the section gets no band of its own then.

What a liner is held by stresses it and the barrel as much as the gas does, too little as well as
too much: held by 0, 59, 98 and 138 um, the bare block of the bundled case stood 0.30, 0.42, 0.39
and 0.27 of a static 150 bar on all of H, the liner counted, and 0.55 with the liner left out. Where
it is not stated, the design is rated at the middle of the usual range (:mod:`cases.life.liner`),
and its two ends are solved at the same five gas loads: 65 s of processor for the bare block and one
insert, in place of 45. What they change is added to what the fit changes.

A fitted design of the bundled case, coarse, takes some 240 s of processor in the demo, as the limit
of each fit is sought at its own heat. With heat stated it takes some 80: 6 for its life by the
section, 3 for that limit and 6 for what walls and liner do to it; 9 for its solid in one piece, 16
for that as it is made, 12 for its limit, 14 for its other fits and 3 for draws; the rest are
meshes, the other bores and the crack. Of what the solid as it is made costs, its limit and its
other fits with it, three tenths are its factor, read for 240 loads, one to four at a time: a
hundred million entries, as fast as memory gives them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Subject, TextTable, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.rating.given import Rating as RatingInput
    from cases.rating.result import DesignRating
    from cases.stress.result import CaseResult


class Rating(Subject):
    """The limit of each design, where ratings are asked for."""

    key = "rating"
    after = ("gas", "stress", "life", "solid")
    by_design = True
    long = True

    def table(self) -> type[Table]:
        """``[rating]``."""
        from cases.rating.table import RatingKeys

        return RatingKeys

    def given(self, table: Any, case: Any, faults: Faults) -> RatingInput:
        """What the designs are rated by."""
        from cases.rating.reading import read_rating

        return read_rating(table, case, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where a rating is."""
        return rate

    def stages(self, case: Any) -> Sequence[Usual]:
        """The limit by the solid, that by the section, and its band."""
        from cases.life.given import life_given
        from cases.rating.given import rating_given
        from cases.solid.given import solid_given

        given, own = solid_given(case), life_given(case).heat_follows_gas
        fine, coarse = (95.0, 40.0) if own else (33.0, 11.0)
        usual = fine if given.setting == "fine" else coarse
        by_solid = (("solid rating", usual),) if given.lived else ()
        band = (("band", 7.0 if given.lived else 12.0),) if rating_given(case).draws > 0 else ()
        return (*by_solid, ("rating", (8.0 if given.lived else 25.0) if own else 3.0), *band)

    def solve(self, work: Work) -> DesignRating:
        """One design; by its solid first, whose factor is no small thing beside the band's."""
        from cases.base.memory import give_back
        from cases.rating.solve import rate, rate_by_solid, with_solid_rating
        from cases.solid.given import solid_given

        assert work.stage is not None
        by_solid = None
        if work.live.get("solid"):
            lived = work.live["solid"]
            if not work.case.given.get("head"):  # which lies on it afterwards
                del work.live["solid"]
            by_solid = rate_by_solid(lived, work.stage, swept=solid_given(work.case).swept)
            del lived
            give_back()
        own, life = work.found["stress"], work.live["life"]
        rated, shifts = rate(work.case, work.drawn.design, own, life, work.stage, by_solid=by_solid)
        return with_solid_rating(rated, shifts, by_solid) if by_solid else rated

    def data(self, result: CaseResult, design: Any) -> Mapping[str, Any]:
        """Limit, band, lives and spots."""
        from cases.rating.data import rating_dict
        from cases.rating.given import rating_given
        from cases.rating.result import is_rated, rating_of

        if not is_rated(design):
            return {}
        pull = rating_given(result.case).pull
        return {"rating": rating_dict(rating_of(design), design.solution.model.materials, pull)}

    def figures(self, result: CaseResult) -> Iterator[tuple[str, Figure]]:
        """Ladder, Haigh diagrams, strength used, causes of the spread."""
        from cases.gas.solve import gas_of
        from cases.rating.figures import rating_figures
        from cases.rating.result import is_rated

        if any(is_rated(design) for design in result.designs):
            yield from rating_figures(result.case, gas_of(result), result.designs)

    def chapters(self, result: CaseResult) -> Sequence[Chapter]:
        """What each design stands."""
        from cases.rating.chapter import rating_chapters

        return rating_chapters(result)

    def lines(self, result: CaseResult) -> Sequence[str | TextTable]:
        """The limits, and what stands beside them."""
        from cases.rating.lines import rating_lines

        return rating_lines(result)

    def cautions(self, result: CaseResult) -> Sequence[str]:
        """What stands right beside every rating."""
        from cases.rating.result import is_rated
        from cases.rating.words import RATING_CAUTIONS

        return RATING_CAUTIONS if any(is_rated(design) for design in result.designs) else ()

    def assumed(self, result: CaseResult) -> Sequence[tuple[str, str]]:
        """What it is rated by."""
        from cases.rating.assumed import rating_assumed

        return rating_assumed(result)


SUBJECT = Rating()
