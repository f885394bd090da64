"""Openings out of a drawing exchange file: closed entities of a layer, in true lines and arcs.

Circles, closed polylines with their bulges, and lines and arcs that join end to end are exact.
Splines and ellipses become tangent arcs; their area is off by some 1e-6.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from cases.base.faults import closest
from cases.base.units import LENGTH
from cases.gasket.opening import Opening, opening_of
from cases.inspection.cells import MOST_FAULTS, ReadingsError, content_of
from geometry import planar
from geometry.planar import Curve

LARGEST = 60_000_000
"""Of a file. [bytes]."""
MOST_ENTITIES = 20_000
"""That are read of a file."""
MOST_OF_A_LAYER = 5_000
"""Entities of a layer with openings; a gasket has some dozens."""
UNITS = {1: "in", 4: "mm", 5: "cm", 6: "m"}
"""By $INSUNITS."""
JOIN = 0.01
"""Ends that are nearer are joined. [mm]."""
PER_SPAN = 12
"""Pairs of arcs that stand for a span of a spline, or an eighth of an ellipse."""
PASSED_OVER = {"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "POINT", "HATCH"}
CLOSED = "Close it in the drawing, or draw it as a closed polyline."


@dataclass(frozen=True)
class Sheet:
    """A drawing in mm."""

    space: Any  # its model space
    scale: float  # mm in its unit
    layers: Counter[str]  # entities by layer, in capitals


def read_drawing(path: Path, unit: str | None) -> Sheet:
    """A drawing whose unit is known.

    Parameters
    ----------
    path : Path
    unit : str or None
        Where the file states none.

    Raises
    ------
    ReadingsError
        If there is no such file, it is no drawing exchange file in text, has too many entities, or
        says no unit.
    """
    content = content_of(path, LARGEST, "Save the layers of the gasket alone.")
    if b"\0" in content or b"SECTION" not in content[:4000]:
        raise ReadingsError(
            "It is no drawing exchange file in text. Save it as a DXF in text (ASCII)."
        )
    layers = _layers(content)
    total = sum(layers.values())
    if total > MOST_ENTITIES:
        most, count = layers.most_common(1)[0]
        raise ReadingsError(
            f"It has {total} entities, {count} of them on layer {most:.40}; at most "
            f"{MOST_ENTITIES} are read. Save the layers of the gasket alone."
        )
    import ezdxf

    try:
        drawing = ezdxf.readfile(path)  # type: ignore[attr-defined]
    except (ezdxf.DXFError, OSError, ValueError, KeyError, IndexError) as error:  # type: ignore[attr-defined]
        raise ReadingsError(
            f"It is a damaged drawing exchange file ({str(error) or type(error).__name__:.80}). "
            "Save it again."
        ) from None
    stated = UNITS.get(int(drawing.header.get("$INSUNITS", 0)))
    if stated is None and unit is None:
        raise ReadingsError(
            "It says no unit that is known ($INSUNITS is missing or none of inches, mm, cm, m). "
            'Say unit = "mm" or unit = "in" beside it, as the drawing was made.'
        )
    if stated and unit and LENGTH.units[stated] != LENGTH.units[unit]:
        raise ReadingsError(
            f'Its header says {stated} ($INSUNITS), and unit = "{unit}". Leave unit out, or mend '
            "the drawing."
        )
    return Sheet(drawing.modelspace(), LENGTH.units[stated or unit or "mm"], layers)


def _layers(content: bytes) -> Counter[str]:
    """Entities by layer, without reading the drawing: in pairs of lines, code 8 is a layer."""
    start = content.find(b"ENTITIES")
    if start < 0:
        return Counter()
    lines = content[content.find(b"\n", start) + 1 :].split(b"\n")
    codes, values = (list(map(bytes.strip, lines[of::2])) for of in (0, 1))
    found: Counter[str] = Counter()
    for code, value in zip(codes, values, strict=False):
        if code == b"8":
            found[value.decode("utf-8", "replace").upper()] += 1
        elif value == b"ENDSEC" and code == b"0":
            break
    return found


def openings_of(sheet: Sheet, layer: str, vent: bool = False) -> tuple[tuple[Opening, ...], str]:
    """The openings on a layer in the drawing's place, and what was passed over, in words.

    Raises
    ------
    ReadingsError
        If the layer is not there, holds too much, or what does not close.
    """
    if layer.upper() not in sheet.layers:
        known = [of for of, _ in sheet.layers.most_common(12)]
        guess = closest(layer, known)
        maybe = f" Did you mean {guess}?" if guess else ""
        raise ReadingsError(
            f"Nothing stands on a layer {layer}.{maybe} Layers with entities: "
            f"{', '.join(sorted(known)) or 'none'}."
        )
    if sheet.layers[layer.upper()] > MOST_OF_A_LAYER:
        raise ReadingsError(
            f"Layer {layer} has {sheet.layers[layer.upper()]} entities; at most {MOST_OF_A_LAYER} "
            "are read. Draw the openings on a layer of their own."
        )
    entities = [of for of in sheet.space if of.dxf.layer.upper() == layer.upper()]
    faults: list[str] = []
    loops: list[tuple[str, list[Curve]]] = []
    loose: list[tuple[str, Curve]] = []
    passed: Counter[str] = Counter()
    for entity in entities:
        name, kind = _name(entity), entity.dxftype()
        if kind in PASSED_OVER:
            passed[kind] += 1
            continue
        try:
            curves, closed = _curves(entity, sheet.scale)
        except ReadingsError as error:
            faults += [f"{name}: {of}" for of in error.faults]
            continue
        if closed:
            loops.append((name, curves))
        else:
            loose += [(name, curve) for curve in curves]
    joined, open_ends = _joined(loose)
    faults += open_ends
    if faults:
        raise ReadingsError(*faults[:MOST_FAULTS])
    found = tuple(opening_of(name, loop, vent) for name, loop in [*loops, *joined])
    if not found:
        raise ReadingsError(f"Layer {layer} holds no opening.")
    words = ", ".join(f"{count} {kind}" for kind, count in sorted(passed.items()))
    return found, f"passed over on layer {layer}: {words}" if words else ""


def circles_of(sheet: Sheet, layer: str | None, least: float, most: float) -> list[complex]:
    """Centres of the circles with a diameter within a range, on a layer or on any. [mm]."""
    return [
        complex(*_at(of, of.dxf.center)) * sheet.scale
        for of in sheet.space.query("CIRCLE")
        if (layer is None or of.dxf.layer.upper() == layer.upper())
        and least <= 2 * of.dxf.radius * sheet.scale <= most
    ]


def _name(entity: Any) -> str:
    """How messages call an entity."""
    return f"{entity.dxftype()} {entity.dxf.handle} on layer {entity.dxf.layer:.40}"


def _at(entity: Any, point: Any) -> tuple[float, float]:
    """A point of an entity that lies flat, which may be drawn as seen from below."""
    x, y = float(point[0]), float(point[1])
    return (-x if _flipped(entity) else x), y


def _flipped(entity: Any) -> bool:
    normal = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if abs(abs(normal[2]) - 1) > 1e-6:
        raise ReadingsError(
            "It does not lie flat in the drawing. Draw it in the plane of the deck."
        )
    return bool(normal[2] < 0)


def _curves(entity: Any, scale: float) -> tuple[list[Curve], bool]:
    """Curves of an entity [mm], and whether they close."""
    kind = entity.dxftype()
    make = _KINDS.get(kind)
    if make is None:
        more = " Explode it first." if kind == "INSERT" else ""
        raise ReadingsError(f"An opening can't be read of it.{more} Read are: {', '.join(_KINDS)}.")
    curves = [
        Curve(of.start * scale, of.end * scale, of.bulge)
        for of in make(entity)
        if abs(of.end - of.start) * scale > planar.SNAP
    ]
    if not curves:
        raise ReadingsError("It has no length. Take it out of the layer.")
    if kind in ("LINE", "ARC"):
        return curves, False
    gap = abs(curves[-1].end - curves[0].start)
    if gap > JOIN:
        end = curves[-1].end
        raise ReadingsError(
            f"It does not close: {gap:.3g} mm are open at x {end.real:.6g}, y {end.imag:.6g} mm. "
            f"{CLOSED}"
        )
    last = curves[-1]
    curves[-1] = Curve(last.start, curves[0].start, last.bulge)
    return curves, True


def _of_polyline(entity: Any) -> list[Curve]:
    if entity.dxftype() == "LWPOLYLINE":
        points, closed = list(entity.get_points("xyb")), entity.closed
    else:
        if not entity.is_2d_polyline:
            raise ReadingsError("It is no flat polyline. Draw it in the plane of the deck.")
        points = [
            (of.dxf.location[0], of.dxf.location[1], of.dxf.get("bulge", 0.0))
            for of in entity.vertices
        ]
        closed = entity.is_closed
    sign = -1 if _flipped(entity) else 1
    z = [complex(sign * x, y) for x, y, _ in points]
    ends = [*z[1:], *(z[:1] if closed else [])]
    return [
        half
        for start, end, (_, _, bulge) in zip(z, ends, points, strict=False)
        for half in _halved(Curve(start, end, sign * bulge))
    ]


def _halved(curve: Curve) -> list[Curve]:
    """An arc of half a turn or more in parts."""
    if abs(curve.bulge) < 0.9:
        return [curve]
    return [curve.part(k / 3, (k + 1) / 3) for k in range(3)]


def _of_circle(entity: Any) -> list[Curve]:
    return planar.circle(complex(*_at(entity, entity.dxf.center)), entity.dxf.radius)


def _of_arc(entity: Any) -> list[Curve]:
    first, last = entity.dxf.start_angle, entity.dxf.end_angle
    low, high = math.radians(first), math.radians(first + ((last - first) % 360 or 360))
    if _flipped(entity):
        low, high = math.pi - low, math.pi - high
    centre = complex(*_at(entity, entity.dxf.center))
    return planar.arc(centre, entity.dxf.radius, low, high)


def _of_line(entity: Any) -> list[Curve]:
    start, end = (complex(of[0], of[1]) for of in (entity.dxf.start, entity.dxf.end))
    return [planar.line(start, end)]


def _of_spline(entity: Any) -> list[Curve]:
    spline = entity.construction_tool()
    knots = sorted(set(spline.knots()))
    knots = [of for of in knots if knots[0] <= of <= spline.max_t]
    return _smooth(spline.derivatives, list(pairwise(knots)))


def _of_ellipse(entity: Any) -> list[Curve]:
    ellipse = entity.construction_tool()
    turn = (ellipse.end_param - ellipse.start_param) % math.tau or math.tau
    ends = [ellipse.start_param + turn * k / 8 for k in range(9)]

    def derivatives(params: Iterable[float], _: int) -> Iterator[Any]:
        params = list(params)
        yield from zip(ellipse.vertices(params), ellipse.tangents(params), strict=True)

    return _smooth(derivatives, list(pairwise(ends)))


def _smooth(derivatives: Any, spans: Sequence[tuple[float, float]]) -> list[Curve]:
    """Tangent arcs through points of a curve, span by span, so that corners stay."""
    curves = []
    for low, high in spans:
        inside = 1e-9 * (high - low)
        params = np.linspace(low + inside, high - inside, PER_SPAN + 1)
        found = [(complex(p[0], p[1]), complex(t[0], t[1])) for p, t, *_ in derivatives(params, 1)]
        points, ways = (np.array(of) for of in zip(*found, strict=True))
        if np.abs(np.diff(points)).min() < planar.SNAP / 1e3 or np.abs(ways).min() == 0:
            raise ReadingsError("A part of it stands still. Draw it as a polyline.")
        curves += planar.smooth_curve(points, ways / np.abs(ways))
    for k in range(1, len(curves)):
        curves[k] = Curve(curves[k - 1].end, curves[k].end, curves[k].bulge)
    return curves


_KINDS = {
    "CIRCLE": _of_circle, "LWPOLYLINE": _of_polyline, "POLYLINE": _of_polyline, "LINE": _of_line,
    "ARC": _of_arc, "SPLINE": _of_spline, "ELLIPSE": _of_ellipse,
}  # fmt: skip


def _joined(
    loose: Sequence[tuple[str, Curve]],
) -> tuple[list[tuple[str, list[Curve]]], list[str]]:
    """Loops of lines and arcs end to end, and what of them does not close, in words."""
    left = list(loose)
    loops, faults = [], []
    while left:
        name, curve = left.pop(0)
        chain = [curve]
        while abs(chain[-1].end - chain[0].start) > JOIN or len(chain) < 2:
            end = chain[-1].end
            near = [
                (k, forward)
                for k, (_, of) in enumerate(left)
                for forward in (True, False)
                if abs((of.start if forward else of.end) - end) <= JOIN
            ]
            if not near:
                break
            k, forward = near[0]
            other = left.pop(k)[1]
            other = other if forward else other.reversed()
            chain.append(Curve(end, other.end, other.bulge))
        gap = abs(chain[-1].end - chain[0].start)
        if gap > JOIN or len(chain) < 2:
            end = chain[-1].end
            faults.append(
                f"{name}: with {len(chain) - 1} others that join it, it does not close: "
                f"{gap:.3g} mm are open at x {end.real:.6g}, y {end.imag:.6g} mm. {CLOSED}"
            )
            continue
        last = chain[-1]
        chain[-1] = Curve(last.start, chain[0].start, last.bulge)
        loops.append((name, chain))
    return loops, faults
