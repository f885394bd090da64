"""Barrel, insert and outer wall of the bench block, pressed together: a closed form."""

import numpy as np

from fea.closed_form import lame_ring


class Rings:
    """Barrel, insert and outer wall without ties: Lame's rings, thickness by thickness.

    Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, thick cylinder (from memory); the
    compound of three, each of its own depth, derived.
    """

    insert, a, r1, r2, b = 8.0, 40.0, 48.0, 58.0, 67.0
    share = insert / 24.0
    parent, own = ({"youngs_modulus": modulus, "poisson": 0.33} for modulus in (72400.0, 68900.0))

    @staticmethod
    def moved(r, low, high, material, p_in=0.0, p_out=0.0):
        return float(lame_ring(r, low, high, p_in=p_in, p_out=p_out, **material).growth)

    def pressures(self, gas, overlap=0.02):
        """Contact pressures where the radial misfit is the overlap on both sides."""
        r1, r2, moved = self.r1, self.r2, self.moved
        by_q1 = (
            moved(r1, r1, r2, self.own, p_in=1)
            - moved(r1, self.a, r1, self.parent, p_out=self.share),
            -moved(r2, r1, r2, self.own, p_in=1),
        )
        by_q2 = (
            moved(r1, r1, r2, self.own, p_out=1),
            moved(r2, r2, self.b, self.parent, p_in=self.share)
            - moved(r2, r1, r2, self.own, p_out=1),
        )
        misfit = np.array([overlap + moved(r1, self.a, r1, self.parent, p_in=gas), overlap])
        return np.linalg.solve(np.array([by_q1, by_q2]).T, misfit)

    def von_mises(self, gas, overlap, tail):
        """Plane von Mises stress that all but a share of the parent metal's volume stays below."""
        q1, q2 = self.pressures(gas, overlap)
        found, volume = [], []
        for low, high, p_in, p_out in (
            (self.a, self.r1, gas, q1 * self.share),
            (self.r2, self.b, q2 * self.share, 0.0),
        ):
            r = np.linspace(low, high, 2000)
            ring = lame_ring(r, low, high, p_in=p_in, p_out=p_out, **self.parent)
            found.append(np.sqrt(ring.hoop**2 + ring.radial**2 - ring.hoop * ring.radial))
            volume.append(r * (high - low))
        order = np.argsort(-np.concatenate(found))
        above = np.cumsum(np.concatenate(volume)[order])
        return np.concatenate(found)[order][np.searchsorted(above, tail * above[-1])]
