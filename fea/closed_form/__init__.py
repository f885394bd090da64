"""Closed forms of plane elasticity and of heat: what the solver is measured against.

Plain functions on arrays, in mm, N, MPa, W and degC; tension positive, a pressure pushes on the
metal. All elasticity is plane stress. ``a`` and ``b`` are the inner and outer radius of a ring
throughout, polar angles are counter-clockwise from +x. No function knows the finite element code.
"""

from fea.closed_form.contact import (
    LineContact,
    PulledStrip,
    cattaneo_mindlin,
    hertz_line,
    pressed_pin,
    pulled_strip,
    sliding_stress,
)
from fea.closed_form.fits import PinInHole, fitted_pressure, joint_pressure, pin_in_hole
from fea.closed_form.heat import (
    CylinderHeat,
    annular_fin,
    composite_cylinder,
    cooled_plate,
    heated_ring,
    straight_fin,
)
from fea.closed_form.notches import (
    NotchStrength,
    strength_with_crack,
    strength_with_edge_notch,
    strength_with_hole,
)
from fea.closed_form.plates import (
    inglis_tip,
    kirsch_plate,
    opposite_notches_factor,
    single_notch_factor,
)
from fea.closed_form.punch import RoundedPunch, rounded_punch
from fea.closed_form.rings import (
    ThinRing,
    eccentric_bore_hoop,
    lame_ring,
    power_law_ring,
    ring_conformability,
    ring_harmonic,
    squeezed_ring,
    thin_squeezed_ring,
)
from fea.closed_form.states import PolarState, RingState

__all__ = [
    "CylinderHeat",
    "LineContact",
    "NotchStrength",
    "PinInHole",
    "PolarState",
    "PulledStrip",
    "RingState",
    "RoundedPunch",
    "ThinRing",
    "annular_fin",
    "cattaneo_mindlin",
    "composite_cylinder",
    "cooled_plate",
    "eccentric_bore_hoop",
    "fitted_pressure",
    "heated_ring",
    "hertz_line",
    "inglis_tip",
    "joint_pressure",
    "kirsch_plate",
    "lame_ring",
    "opposite_notches_factor",
    "pin_in_hole",
    "power_law_ring",
    "pressed_pin",
    "pulled_strip",
    "ring_conformability",
    "ring_harmonic",
    "rounded_punch",
    "single_notch_factor",
    "sliding_stress",
    "squeezed_ring",
    "straight_fin",
    "strength_with_crack",
    "strength_with_edge_notch",
    "strength_with_hole",
    "thin_squeezed_ring",
]
