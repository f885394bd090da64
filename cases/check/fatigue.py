"""Problems of fatigue whose answer is known, each posed once.

MPa and cycles. They have no mesh, so their fineness changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fea.strength import MEAN_LINES, cycles_to_failure, reversed_amplitude

HALF_A_CYCLE = 0.5  # one reversal, where Basquin's line has the strength sigma_f'


@dataclass(frozen=True)
class FatigueAnswer:
    """A cycle of stress, weighed by each mean-stress line, and the life under it."""

    reversed_mpa: Mapping[str, float]  # by line
    life: float  # under the amplitude of Smith, Watson and Topper

    @property
    def solver(self) -> str:
        """Library that counted."""
        return f"numpy {np.__version__}"


def mean_stress(fineness: float = 1.0) -> FatigueAnswer:
    """Amplitude 50 about a mean of 60; tensile strength 262."""
    return _answer(50.0, 60.0, 262.0)


def basquin(fineness: float = 1.0) -> FatigueAnswer:
    """Amplitude 150 about a mean of 100; 7075-T6 with sigma_f' 1466 and b -0.143."""
    return _answer(150.0, 100.0, 572.0)


def _answer(amplitude: float, mean: float, tensile: float) -> FatigueAnswer:
    weighed = {
        line: float(reversed_amplitude(amplitude, mean, line, tensile)) for line in MEAN_LINES
    }
    life = cycles_to_failure(weighed["Smith-Watson-Topper"], 1466.0, HALF_A_CYCLE, -0.143)
    return FatigueAnswer(weighed, float(life))
