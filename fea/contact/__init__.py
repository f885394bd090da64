"""Press fit: parts that touch the rest along joints, open, stick and slide.

Owns the laws of contact, the sets of pairs that obey them under a load, and the joint by itself.
It knows meshes and materials, no load steps and no names of parts.

``parts_off`` cuts parts loose one after the other, each with a joint of its own; their pairs stand
one joint after the other and are solved as one. ``part_off`` cuts the insert out of the mesh: along
the joint, and where insert and the floor of a
relief cut lie over one another, both have nodes of their own. A pair of corner nodes touches over
the depth that both have there. Unknowns of a pair are the displacement of the block and the jump to
the insert, along normal and tangent; a pair that touches has a known jump, one that sticks a known
slip. So each state of the joint is one positive definite system. The jump is linear from corner to
corner: with pairs at mid-side nodes as well, pressure alternates and twice the iterations are
needed.

The bodies are condensed to the joint once for a temperature (``Factor.corner_of_inverse``): the
jumps are eliminated last, in a dense end of a factor of its own, whose inverse is the flexibility
of the joint. For the 1,660 jumps of the bundled block that takes 0.25 s; 1,660 back-substitutions
would take 4 s. A set of pairs is then a dense Cholesky factorisation of the jumps that it holds,
some 800: 6 ms, where a factorisation of the whole section takes 25 ms and friction two or three
back-substitutions more. It serves every load and fit, and costs one back-substitution for the
displacement of each. At another temperature the metal is some per cent softer or stiffer; while
heat is still sought the same matrix serves, and what the forces of the bodies differ by (one
back-substitution) is put on as a load: 3 % of the largest force are left after the first turn, 1e-7
after five, and the turns go along with the sets. Once heat is found the joint is condensed again
(``by_itself``). Stiffer springs of loose pieces are put in by the formula of Woodbury; weaker ones
and joints of more than 4,000 jumps take the factor of the whole section. Products with the
flexibility are by scipy's BLAS as the factorisation is: with numpy's beside it two pools of threads
wait for each other, and a set takes three times as long where the number of threads is left free.

An active-set iteration opens a joint from its edge inwards, some tenth of it at a time: an insert
narrower than the jacket, or with ties pressed apart, is an open ring that springs off its fit and
touches at a few pairs in the end; 25 iterations don't reach them, and halves of the load go the
same way. Where the sets that change don't halve in two iterations, or in six where the joint is
condensed and a set costs a tenth of a system, :mod:`fea.contact.interior` finds them from inside:
10 to 16 systems on the same pattern, however many the pairs, and mostly right to a pair; active
sets end it. The springs of a loose piece are weak there (1e-10 of the metal), for an open ring is
softer than 800 springs of 1e-7. An attempt takes 30 systems at most: 14 sets at once (24 by the
joint alone, not counted), those from inside, and what is left for sets near them. Where it fails,
and there is friction, active sets alone have another 30; then the load is cut in halves, each with
attempts of its own. A step begun from its own answer (``guess``) takes 1 to 5 systems. How many of
random fits are found stands in ``tests/test_random_fits.py``, what contact costs in
``tests/benchmarks/test_contact.py``.

A liner that is pressed in or slips in is a joint as well, all of a bank's: the four of the bundled
block add 433 pairs to the insert's 828, 2,522 jumps together, which are still condensed. Held by
60 um without friction, press and gas take 8 sets each, as the insert alone does; with friction of
0.15 they take 21 and 25, 5.2 s in place of 1.6 and 3.1 in place of 0.2, as most of a round joint
is near slipping, and the warm step may not be found. To leave the liners of the other bores bonded
would cost less, but bonded they pull at their barrels where they should open.

Compound that fills a joint holds it as bonded until its strength is used up, pair by pair
(:mod:`fea.contact.fitted`). A step in which none breaks takes one set, as all is held; one in which
it breaks over half a joint some 10 to 20 passes, 20 to 35 systems in sum.

A liner that is cast in can't open. Its interference is a strain of its material
(``Material.misfit``), counted wherever there is a temperature; then the cold steps have one too, 20
degC.
"""

from fea.contact.compound import wet
from fea.contact.extent import (
    held_ends,
    joint_ends,
    kinks,
    last_pairs,
    last_sides,
    side_lengths,
    touching_shares,
)
from fea.contact.fitted import FittedModel
from fea.contact.pairs import Compound, Fit, Pairs, pairs_of
from fea.contact.settings import SETTINGS, ContactSettings
from fea.contact.state import Contact, ContactError, Fitted

__all__ = [
    "SETTINGS",
    "Compound",
    "Contact",
    "ContactError",
    "ContactSettings",
    "Fit",
    "Fitted",
    "FittedModel",
    "Pairs",
    "held_ends",
    "joint_ends",
    "kinks",
    "last_pairs",
    "last_sides",
    "pairs_of",
    "side_lengths",
    "touching_shares",
    "wet",
]
