"""A stiffness put together from what each layer keeps, on a pattern that is found once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from skfem import CellBasis

from fea.elasticity import gradient_products, plane_stress
from fea.material import Material
from geometry.section_mesh import Depth, Layer, UniformDepth

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

_ONE_MM = UniformDepth(1.0)


class Pattern:
    """Lower triangle of a matrix that couples pairs of nodes, c unknowns each.

    Node k has the unknowns c k to c k + c - 1. Entries stand column by column, rows sorted, as in
    ``scipy.sparse.csc_array``.

    Parameters
    ----------
    row, column : ndarray, shape (...)
        The two nodes of each pair, row >= column, in any order and as often as they come. Each
        node 0 to n - 1 is paired with itself.
    components : int
        c: 2 in a plane, 3 in space, 1 for a temperature.

    Attributes
    ----------
    rows : ndarray, shape (entries,)
    starts : ndarray, shape (c n + 1,)
        First entry of each column, and the end of the last.
    size : int
        Number of pairs, each counted once.
    row, column : ndarray, shape (size,)
        Nodes of each of them.
    pairs : ndarray, shape (...)
        Number of each pair that was given.

    Examples
    --------
    >>> pattern = Pattern(np.array([0, 1, 1]), np.array([0, 0, 1]))
    >>> pattern.rows
    array([0, 1, 2, 3, 1, 2, 3, 2, 3, 3], dtype=int32)
    >>> pattern.starts
    array([ 0,  4,  7,  9, 10], dtype=int32)
    """

    def __init__(self, row: Integers, column: Integers, components: int = 2) -> None:
        c, count = components, int(row.max()) + 1
        keys = column.astype(np.int64) * count + row
        pairs, places = np.unique(keys, return_inverse=True)
        self.pairs, self.size = places.reshape(keys.shape), len(pairs)
        self.column, self.row = column, row = np.divmod(pairs, count)
        # a node has c columns; each but the first lacks what is above the diagonal
        below = np.bincount(column, minlength=count)
        self.starts = np.zeros(c * count + 1, dtype=np.int32)
        np.cumsum((c * below[:, None] - np.arange(c)).ravel(), out=self.starts[1:])
        nth = np.arange(self.size) - (np.cumsum(below) - below)[column]
        start = [self.starts[c * column + j] + c * nth - j for j in range(c)]
        self.rows = np.empty(self.starts[-1], dtype=np.int32)
        self._sources = np.empty(self.starts[-1], dtype=np.int32)  # into sums by component, pair
        for i, j in np.ndindex(c, c):
            kept = slice(None) if i >= j else np.flatnonzero(nth)  # nth 0: a node with itself
            entries = start[j][kept] + i
            self.rows[entries] = c * row[kept] + i
            self._sources[entries] = np.arange(self.size)[kept] + (c * i + j) * self.size

    def columns(self) -> Integers:
        """Column of each entry, shape (entries,)."""
        return np.repeat(np.arange(len(self.starts) - 1), np.diff(self.starts))

    def touching(self, chosen: Flags) -> tuple[Integers, Integers, Integers]:
        """Entries in the rows and columns of some unknowns.

        Parameters
        ----------
        chosen : ndarray of bool, shape (n,)
            Those unknowns.

        Returns
        -------
        entries, rows, columns : ndarray of int, shape (k,)
            Each entry with its row and column.
        """
        columns = self.columns()
        entries = np.flatnonzero(chosen[self.rows] | chosen[columns])
        return entries, self.rows[entries], columns[entries]

    def entries(self, blocks: Array) -> Array:
        """What belongs to each pair of nodes, in the order of the entries.

        Parameters
        ----------
        blocks : ndarray, shape (c, c, size)
            By component of the row and of the column.

        Returns
        -------
        ndarray, shape (entries,)
        """
        return blocks.ravel()[self._sources]


def cut_off(
    values: Array, touching: tuple[Integers, Integers, Integers], size: int
) -> sparse.csr_array:
    """Rows and columns of pinned unknowns, taken out of a stiffness but for its diagonal.

    Parameters
    ----------
    values : ndarray, shape (entries,)
        Of the lower triangle; what is off the diagonal there becomes 0.
    touching : tuple of ndarray of int
        As :meth:`Pattern.touching` of the pinned unknowns.
    size : int
        Number of unknowns.

    Returns
    -------
    scipy.sparse.csr_array, shape (size, size)
        What stood there, on both sides of the diagonal.
    """
    entries, rows, columns = touching
    cut = values[entries]
    off = rows != columns
    values[entries[off]] = 0
    return sparse.csr_array(
        (
            np.concatenate([cut, cut[off]]),
            (np.concatenate([rows, columns[off]]), np.concatenate([columns, rows[off]])),
        ),
        shape=(size, size),
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Region:
    """Triangles of a region, and the pairs of nodes that they couple."""

    triangles: Integers
    pairs: Integers  # (k,), into the pairs of the pattern
    places: Integers  # (21, triangles), into ``pairs``

    def sum(self, products: Array) -> Array:
        """Sums over the triangles, shape (2, 2, k)."""
        places, size = self.places.ravel(), len(self.pairs)
        sums = [np.bincount(places, of.ravel(), size) for row in products for of in row]
        return np.reshape(sums, (2, 2, size))

    def add(self, sums: Array, blocks: Array) -> None:
        """Add sums, shape (2, 2, k), to those of all pairs of the pattern."""
        for i, j in np.ndindex(2, 2):
            blocks[i, j][self.pairs] += sums[i, j]


class LayerStiffness:
    """Stiffness of a mesh whose layers may get other depths and materials.

    Kept for each region are sums that know nothing of the material
    (:func:`fea.elasticity.gradient_products`): those of 1 mm of metal, which all uniform layers
    share, and those of each layer whose depth has a profile. Another modulus, Poisson's ratio or
    uniform depth only weighs them anew; another profile is integrated for its own layer alone.
    What the last layers did not need is dropped. Layers that a temperature softens are integrated
    each time, and keep what was kept.

    Parameters
    ----------
    basis : skfem.CellBasis
        Scalar basis of quadratic triangles.
    region : ndarray, shape (triangles,)
        Region of each triangle.

    Attributes
    ----------
    pattern : Pattern
        In the numbers that ``basis`` gives the nodes.
    """

    def __init__(self, basis: CellBasis, region: Integers) -> None:
        self._nodes = basis.element_dofs
        self._shapes = np.stack([np.asarray(field)[0] for (field,) in basis.basis], axis=1)
        ascending = np.argsort(basis.element_dofs, axis=0)
        nodes = np.take_along_axis(basis.element_dofs, ascending, axis=0)
        row, column = np.tril_indices(len(nodes))
        self.pattern = Pattern(nodes[row], nodes[column])
        gradients = np.stack([field.grad.swapaxes(1, 2) for (field,) in basis.basis])
        self._gradients = np.take_along_axis(gradients, ascending[:, None, None], axis=0)
        self._area = np.ascontiguousarray(basis.dx.T)
        self._points = np.asarray(basis.global_coordinates()).swapaxes(1, 2)
        self._regions = [
            self._find_region(np.flatnonzero(region == index)) for index in range(region.max() + 1)
        ]
        self._kept: dict[tuple[int, Depth], Array] = {}

    def _find_region(self, triangles: Integers) -> _Region:
        pairs = np.take(self.pattern.pairs, triangles, axis=1)
        number = np.zeros(self.pattern.size, dtype=np.int64)
        number[pairs] = 1
        present = np.flatnonzero(number)
        number[present] = np.arange(len(present))
        return _Region(triangles, present, number[pairs])

    def assemble(
        self,
        regions: Sequence[Sequence[Layer]],
        materials: Mapping[str, Material],
        temperature: Array | None = None,
    ) -> Array:
        """Entries of the stiffness on the pattern, from its :meth:`blocks`, which takes the same.

        Returns
        -------
        ndarray, shape (entries,)
            [N/mm]

        Raises
        ------
        ValueError
            If a thickness is not positive.
        """
        return self.pattern.entries(self.blocks(regions, materials, temperature))

    def blocks(
        self,
        regions: Sequence[Sequence[Layer]],
        materials: Mapping[str, Material],
        temperature: Array | None = None,
    ) -> Array:
        """Stiffness between the nodes of each pair of the pattern.

        Parameters
        ----------
        regions : sequence of sequence of Layer
            Layers of each region.
        materials : mapping of str to Material
            By part.
        temperature : ndarray, shape (n,), optional
            At the nodes in the numbers that ``basis`` gives them, for materials that soften; the
            moduli are those of 20 degC without. [degC]

        Returns
        -------
        ndarray, shape (2, 2, pattern.size)
            By component of the row and of the column. [N/mm]

        Raises
        ------
        ValueError
            If a thickness is not positive.
        """
        blocks = np.zeros((2, 2, self.pattern.size))
        warmth = None if temperature is None else self._shapes @ temperature[self._nodes]
        kept: dict[tuple[int, Depth], Array] = {}
        for index, (region, layers) in enumerate(zip(self._regions, regions, strict=False)):
            for layer in layers:
                depth, times, material = layer.thickness, 1.0, materials[layer.part]
                share = None
                if warmth is not None and material.softening:
                    share = material.stiffness_share(np.take(warmth, region.triangles, axis=1))
                if isinstance(depth, UniformDepth):
                    depth, times = _ONE_MM, depth.thickness
                    _require_positive(layer.part, times)
                key = index, depth
                if key not in kept and key in self._kept:
                    kept[key] = self._kept[key]
                if share is not None:
                    sums = self._integrate(layer, depth, region, share)
                elif key in kept:
                    sums = kept[key]
                else:
                    sums = kept[key] = self._integrate(layer, depth, region)
                stiffness = plane_stress(sums, times * material.lam, times * material.mu)
                region.add(stiffness, blocks)
        self._kept = kept
        return blocks

    def _integrate(
        self, layer: Layer, depth: Depth, region: _Region, share: Array | float = 1.0
    ) -> Array:
        thickness = depth(*np.take(self._points, region.triangles, axis=2))
        _require_positive(layer.part, thickness.min(initial=np.inf))
        weights = thickness * share * np.take(self._area, region.triangles, axis=1)
        gradients = np.take(self._gradients, region.triangles, axis=3)
        return region.sum(gradient_products(gradients, weights))


def _require_positive(part: str, thickness: float) -> None:
    if not thickness > 0:
        raise ValueError(f"{part}: thickness {thickness:g} mm is not positive.")
