"""Temperatures are those of the solid where its heat is known, else the section's."""

from types import SimpleNamespace

from cases.solid.result import DesignSolid
from cases.verdict.rows import _hottest


def places(**degrees):
    return [SimpleNamespace(part=part, temperature_degc=at) for part, at in degrees.items()]


def section(**degrees):
    heat = SimpleNamespace(
        mesh=SimpleNamespace(parts=tuple(degrees)),
        hottest=lambda part: SimpleNamespace(temperature_degc=degrees[part]),
    )
    return SimpleNamespace(heat=heat)


def solid(heat):
    return DesignSolid(name="local", setting="fine", one_piece=None, heat=heat)


def test_the_solid_s_where_they_are_known():
    heat = SimpleNamespace(hottest=places(bore=190.0, barrel=171.0, insert=144.0))
    life = section(barrel=166.0, insert=140.0)
    both = SimpleNamespace(found={"life": life, "solid": solid(heat)})
    told = {"hottest_barrel_degc": 171.0, "hottest_insert_degc": 144.0, "hottest_by": "solid"}
    assert _hottest(both) == told
    flat = SimpleNamespace(found={"life": life, "solid": solid(None)})
    told = {"hottest_barrel_degc": 166.0, "hottest_insert_degc": 140.0, "hottest_by": "section"}
    assert _hottest(flat) == told
    assert _hottest(SimpleNamespace(found={"life": None})) == {}
    bare = SimpleNamespace(found={"life": section(barrel=166.0)})
    assert _hottest(bare)["hottest_insert_degc"] is None
