"""A block in depth by a general library: NGSolve on solids of OCC (the extra ``compare``).

One bore, a jacket between barrel and outer wall, two ties, one relief cut, edges sharp; gas on the
upper part of the bore, held along z at the floor. It is told where the peak is, has small elements
there alone, and reads stress there only.
"""

from __future__ import annotations

import math

import ngsolve as ng
import numpy as np
from netgen.meshing import MeshingParameters
from netgen.occ import Axis, Box, Cylinder, OCCGeometry, Pnt, Z

BORE, BARREL, JACKET, OUTER = 45.0, 50.5, 60.5, 68.5  # radii [mm]
FLOOR, JACKET_DEPTH, TIE_DEPTH, TIE_WIDTH = 100.0, 70.0, 14.0, 8.0
CUT_AT, CUT_RADIUS, CUT_DEPTH, CUT_CLOCK = 56.0, 8.0, 30.0, 4.25
REACH, PRESSURE = 28.0, 10.0
MODULUS, POISSON = 72_400.0, 0.33


def shape():
    """The block, its bore split where the gas ends."""

    def cylinder(radius, depth, x=0.0, y=0.0):
        return Cylinder(Pnt(x, y, -depth), Z, r=radius, h=depth)

    ring = cylinder(JACKET, JACKET_DEPTH) - cylinder(BARREL, JACKET_DEPTH)
    bar = Box(Pnt(0, -TIE_WIDTH / 2, -TIE_DEPTH), Pnt(OUTER, TIE_WIDTH / 2, 0))
    ties = [bar.Rotate(Axis(Pnt(0, 0, 0), Z), 90 - 30 * clock) for clock in (2.0, 8.0)]
    x, y = place(CUT_AT)
    block = cylinder(OUTER, FLOOR) - (ring - ties[0] - ties[1])
    block = block - cylinder(CUT_RADIUS, CUT_DEPTH, x, y)
    upper, lower = cylinder(BORE, REACH), cylinder(BORE, FLOOR) - cylinder(BORE, REACH)
    upper.faces.name = "gas"
    for solid in (upper, lower):
        block = block - solid
    block.faces.Min(Z).name = "floor"
    return block


def place(radius, off=0.0):
    """On the cut's side of the block, so many degrees off."""
    angle = math.radians(90 - 30 * CUT_CLOCK + off)
    return radius * math.cos(angle), radius * math.sin(angle)


def worst_stress(far, near, order):
    """Largest principal stress on the wall that the cut leaves, and the unknowns. [MPa]."""
    parameters = MeshingParameters(maxh=far, grading=0.4, curvaturesafety=1.0)
    for off in np.arange(-6.0, 6.1, 1.0):
        for depth in np.arange(0.0, CUT_DEPTH - 10, 2.0):
            x, y = place(CUT_AT - CUT_RADIUS - 0.3, off)
            parameters.RestrictH(x=x, y=y, z=-depth, h=near)
    mesh = ng.Mesh(OCCGeometry(shape()).GenerateMesh(mp=parameters))
    mesh.Curve(order)
    space = ng.VectorH1(mesh, order=order, dirichletz="floor")
    u, v = space.TnT()
    mu = MODULUS / 2 / (1 + POISSON)
    lam = 2 * mu * POISSON / (1 - 2 * POISSON)

    def stress(of):
        strain = (ng.Grad(of) + ng.Grad(of).trans) / 2
        return 2 * mu * strain + lam * ng.Trace(strain) * ng.Id(3)

    form = ng.BilinearForm(space, symmetric=True, condense=True)
    form += ng.InnerProduct(stress(u), ng.Grad(v)) * ng.dx
    form += 1e-3 * (u[0] * v[0] + u[1] * v[1]) * ng.ds("floor")  # nothing else keeps it sideways
    load = ng.LinearForm(-PRESSURE * ng.specialcf.normal(3) * v * ng.ds("gas"))
    found = ng.GridFunction(space)
    form.Assemble()
    load.Assemble()
    inverse = form.mat.Inverse(space.FreeDofs(True), inverse="sparsecholesky")
    right = load.vec.CreateVector()
    right.data = load.vec + form.harmonic_extension_trans * load.vec
    found.vec.data = inverse * right
    found.vec.data += form.harmonic_extension * found.vec
    found.vec.data += form.inner_solve * right
    field = stress(found)
    worst = 0.0
    for off in np.arange(-3.0, 3.1, 0.5):
        for depth in np.arange(0.5, 8.0, 0.25):
            x, y = on_cut(off)
            there = np.array(field(mesh(x, y, -depth))).reshape(3, 3)
            worst = max(worst, float(np.linalg.eigvalsh(there)[-1]))
    return worst, space.ndof


def on_cut(off):
    """On the wall of the cut, just inside the metal, so many degrees about the bore."""
    angle = math.radians(90 - 30 * CUT_CLOCK + off)
    turn = math.radians(off)
    reach = CUT_AT * math.cos(turn) - math.sqrt(CUT_RADIUS**2 - (CUT_AT * math.sin(turn)) ** 2)
    return (reach - 0.01) * math.cos(angle), (reach - 0.01) * math.sin(angle)
