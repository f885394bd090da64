"""Press fit: a part that touches the rest along a joint, opens, sticks and slides.

Owns the laws of contact, the sets of pairs that obey them under a load, and the joint by itself.
It knows meshes and materials, no load steps and no names of parts.
"""

from fea.contact.fitted import Contact, ContactError, Fitted, FittedModel
from fea.contact.pairs import Fit, Pairs, pairs_of
from fea.contact.settings import SETTINGS, ContactSettings

__all__ = [
    "SETTINGS",
    "Contact",
    "ContactError",
    "ContactSettings",
    "Fit",
    "Fitted",
    "FittedModel",
    "Pairs",
    "pairs_of",
]
