"""What a part is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Material:
    """A linear elastic material, with its plane-stress pair.

    Raises
    ------
    ValueError
        If Young's modulus is not positive, or Poisson's ratio not from 0 to below 0.5.

    Examples
    --------
    >>> steel = Material("steel", 210_000.0, 0.3)
    >>> round(steel.lam), round(steel.mu)
    (69231, 80769)
    """

    name: str
    youngs_modulus: float  # [MPa]
    poisson: float
    source: str = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.youngs_modulus) and self.youngs_modulus > 0):
            raise ValueError(
                f"{self.name}: youngs_modulus = {self.youngs_modulus:g} MPa must be positive."
            )
        if not 0 <= self.poisson < 0.5:
            raise ValueError(f"{self.name}: poisson = {self.poisson:g} is outside 0 to 0.5.")

    @property
    def lam(self) -> float:
        """Plane-stress E nu / (1 - nu^2), from sigma_z = 0 in Hooke's law. [MPa]."""
        return self.youngs_modulus * self.poisson / (1 - self.poisson**2)

    @property
    def mu(self) -> float:
        """Shear modulus E / (2 (1 + nu)). [MPa]."""
        return self.youngs_modulus / (2 * (1 + self.poisson))
