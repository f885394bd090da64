"""Elasticity in space on quadratic prisms: a solid held, loaded, solved, and its stress.

Owns the shape functions and integrals of :class:`geometry.solid.mesh.SolidMesh`, its stiffness,
loads on named faces, stress by part, hot spots with their error, and the self-checks. Components
stand in the order xx, yy, zz, xy, yz, zx; shear strain is the tensor's, half the angle.
"""

from fea.solid.model import SolidModel, SolidSolution

__all__ = ["SolidModel", "SolidSolution"]
