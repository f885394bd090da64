"""A rating for ``results.json``."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from cases.base.data import fields_of, plain
from cases.rating.depth_words import depth_state
from cases.rating.result import FATIGUE, WALLS, Band, DesignRating, RatedSpot, SolidRating, Stands
from cases.rating.shares import known_strengths
from cases.rating.words import governing_name, life_cycles_of
from cases.stress.data import spot_dict
from fea.material import Material


def rating_dict(
    rating: DesignRating, materials: Mapping[str, Material], pull: float
) -> dict[str, Any]:
    """The rating of a design as plain numbers, text and lists.

    What is infinite is None and said beside it: ``no_harm`` of a life, ``no_bound`` of a share of
    strength, where the mean stress reaches the tensile strength. Any other life of None could not
    be judged, for want of a fatigue strength.

    Parameters
    ----------
    rating : DesignRating
    materials : mapping
        Of the design, by part.
    pull : float
        How long one pull at the wanted load lasts. [s]
    """
    lives = life_cycles_of(rating, materials)
    found = {
        "estimate": True,
        "stands_on": "section",
        "limit": _limit(rating),
        "tried_factor": rating.tried,
        "governs": governing_name(rating),
        "governing": _rated_spot(rating.governing, materials) if rating.governing else None,
        "used": _finite(rating.used),
        "used_at_limit": _finite(rating.used_at_limit),
        "no_bound": [name for name, share in rating.used.items() if math.isinf(share)],
        "life_cycles": _finite(lives),
        "no_harm": {state: cycles == math.inf for state, cycles in lives.items()},
        **_lasts(None if None in lives.values() else rating.life_hours, pull),
        "spots": [_rated_spot(spot, materials) for spot in rating.spots],
        "band": _band(rating.band),
        "next_bore_pushes": rating.pushed,
        "notes": rating.notes,
    }
    if rating.solid:
        own = (
            "limit", "tried_factor", "governs", "governing", "life_cycles", "no_harm",
            "life_hours", "life_pulls", "band", "next_bore_pushes",
        )  # fmt: skip
        found["section"] = {name: found[name] for name in own}
        found |= {"stands_on": "solid", **_solid(rating.solid, pull)}
    return plain(found)  # type: ignore[no-any-return]


def _limit(rating: DesignRating) -> dict[str, Any] | None:
    """The limit by the section, with what 5 and 95 % of its draws stay below."""
    if rating.limit is None:
        return None
    return _told(rating.limit, rating.nominal, rating.band)


def _band(band: Band | None) -> dict[str, Any] | None:
    """A band, without what only serves to make another."""
    if band is None:
        return None
    told = {"percent": [5, 50, 95], **fields_of(band)}
    low, _, high = band.shifts.get(WALLS, (None, None, None))
    told["walls_low_high"] = None if low is None else [low, high]
    for untold in ("shifts", "each", "known", "limit"):  # the limit stands for itself
        del told[untold]
    return told


def _told(limit: Stands, nominal: Stands | None, band: Band | None) -> dict[str, Any]:
    """A limit, whether draws carry it, and peak pressures of the same draws. [MPa].

    ``low``, ``median`` and ``high`` are what 5, 50 and 95 % of them stay below, ``carries`` the
    share of them that carry what is asked.
    """
    low, median, high = band.pressure_mpa if band else (None, None, None)
    return {
        **fields_of(limit),
        "nominal": band is None,
        "nominal_factor": (nominal or limit).factor,
        "reliability": band.reliability if band else None,
        "carries": band.carries if band else None,
        "median": median, "low": low, "high": high,
    }  # fmt: skip


def _solid(rated: SolidRating, pull: float) -> dict[str, Any]:
    """The limit by the solid, in place of the section's."""
    limit, spot = rated.limit, rated.governing
    governing = None
    if spot:
        life = spot.life_cycles
        governing = {
            **fields_of(spot),
            "shares": _finite(spot.shares),
            **_finite({"life_cycles": life}),
            "no_harm": life == math.inf,
        }
    return {
        "limit": _told(limit, rated.nominal, rated.band) if limit else None,
        "next_bore_pushes": rated.pushed,
        "band": _band(rated.band),
        "tried_factor": rated.tried,
        "governs": depth_state(spot) if spot else None,
        "governing": governing,
        "places": [fields_of(place) for place in rated.places],
        "yield_share": rated.yield_share,
        "life_cycles": _finite({str(state): of for state, of in rated.life_cycles.items()}),
        "no_harm": {state: cycles == math.inf for state, cycles in rated.life_cycles.items()},
        **_lasts(rated.life_hours, pull),
        "solid_notes": rated.notes,
    }


def _lasts(hours: float | None, pull: float) -> dict[str, float | None]:
    """A life at the wanted load in hours, and in pulls of so many seconds."""
    pulls = None if hours is None else 3600 * hours / pull
    return _finite({"life_hours": hours, "life_pulls": pulls})


def _finite(values: Mapping[str, float | None]) -> dict[str, float | None]:
    """Values with None for those that are infinite."""
    return {name: None if value == math.inf else value for name, value in values.items()}


def _rated_spot(rated: RatedSpot, materials: Mapping[str, Material]) -> dict[str, Any]:
    """A rated spot with the shares of the strengths that are on record."""
    known = known_strengths(materials[rated.spot.part])
    shares = {kind: rated.shares[kind] for kind in known}
    life = rated.life_cycles if FATIGUE in known else None
    place = spot_dict(rated.spot)
    del place["settled"], place["exponent"]  # no mesh was refined for it
    return {
        **place,
        "state": rated.state,
        "criterion": rated.kind,
        "shares": _finite(shares),
        "no_bound": [kind for kind, share in shares.items() if math.isinf(share)],
        "judged_by": rated.judged_by,
        "length_mm": rated.length_mm,
        **_finite({"point_share": rated.point_share}),
        "error_mpa": rated.error_mpa,
        "mean_mpa": rated.mean_mpa,
        "amplitude_mpa": rated.amplitude_mpa,
        "temperature_degc": rated.temperature_degc,
        "been_degc": rated.been_degc,
        **_finite({"reversed_mpa": rated.reversed_mpa, "life_cycles": life}),
        "no_harm": life == math.inf,
    }
