"""The block in depth: the regions of a section, each a stack of parts, in layers of prisms.

Owns the mesh of a solid (:mod:`geometry.solid.mesh`): where its nodes lie, which part each prism is
of, and the names of its faces; and where a part that is cut loose touches the rest
(:mod:`geometry.solid.parted`). No stress.

:mod:`~geometry.solid.columns` says what stands where, :mod:`~geometry.solid.levels` at which depths
prisms end, :mod:`~geometry.solid.draft` how walls lean, :mod:`~geometry.solid.layers` makes them,
:mod:`~geometry.solid.loose` cuts parts loose.
"""

from geometry.solid.mesh import SolidMesh
from geometry.solid.parted import SolidJoint, joint_of, side_of, together

__all__ = ["SolidJoint", "SolidMesh", "joint_of", "side_of", "together"]
