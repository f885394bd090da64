"""Pressure of the gas by crank angle, wherever it comes from."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cases.gas.cylinder import Array, Crank


@dataclass(frozen=True, eq=False, kw_only=True)
class PressureCurve:
    """Absolute pressure of the mean cycle by crank angle."""

    crank: Crank
    deg: Array  # after the top of the firing stroke, rising, (n,)
    pressure: Array  # (n,) [MPa]
    peak: float  # [MPa]
    peak_deg: float

    def scaled(self, peak: float) -> PressureCurve:
        """The same shape with another peak [MPa].

        Pressures of a cycle grow as that in the intake, its temperatures staying as they are; only
        the share of heat that the walls take falls a little.
        """
        return replace(self, pressure=self.pressure * (peak / self.peak), peak=peak)
