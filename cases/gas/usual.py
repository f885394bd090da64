"""What stands for an engine's numbers that a case leaves out.

Each is common practice, no source, and told wherever it counts.
"""

from __future__ import annotations

STROKE_OF_BORE = 1.0
ROD_OF_STROKE = 1.65
TOP_RING_OF_BORE = 0.07
PISTON_SPEED = 18.0
"""Mean, at full power; the speed of the crank is taken from it. [m/s]."""
COMPRESSION_RATIO = 9.0
"""Of an engine with boost; with more the pressure falls sooner after its peak."""
INTAKE_PRESSURE = 0.2
"""Absolute; the shape of a cycle hardly knows it. [MPa]."""
INTAKE_TEMPERATURE = 50.0  # [degC]
AIR_FUEL_RATIO = 12.5
FUEL_HEATING_VALUE = 43000.0  # [J/g]
PIN_HEIGHT_OF_BORE = 0.35
RING_HEAT = 0.7
"""Share of the piston's heat that its rings bring to the bore; with oil jets 0.3 to 0.4. Public
pages tell both."""
PISTON_MASS = 0.7e-3
"""Of piston, pin and rings, over the bore's cube. [g/mm3]."""
