"""The deck section: its parts, its drawing and its mesh. mm, degrees and clock hours."""

from geometry.clock import format_clock, parse_clock
from geometry.refusals import SectionError
from geometry.section import (
    THINNEST_WALL,
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    Register,
    ReliefCut,
    Tie,
    WaterSlot,
    default_depth,
)
from geometry.section_mesh import Corner, Layer, ProfileDepth, SectionMesh, UniformDepth

__all__ = [
    "THINNEST_WALL",
    "Block",
    "Corner",
    "DeckSection",
    "DeeperZone",
    "Insert",
    "Layer",
    "ProfileDepth",
    "Register",
    "ReliefCut",
    "SectionError",
    "SectionMesh",
    "Tie",
    "UniformDepth",
    "WaterSlot",
    "default_depth",
    "format_clock",
    "parse_clock",
]
