"""A limit at the heat of its own load: the search, and lives that are heated otherwise."""

import math
import re
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, FIT, GAS, HEAT, RING, TIES

from cases import RunError
from cases.gas.solve import at_load, gas_load
from cases.life.given import Heat
from cases.life.heat import gas_film
from cases.life.life import life_of
from cases.life.steps import WARM, WARM_GAS, EngineState
from cases.rating import depth_band, own_heat, solid
from cases.rating import solve as solving
from cases.rating.band import STRENGTH, draw_inputs, draw_limits, solve_around
from cases.rating.depth_band import band_of_solid, draws_of, judging_of, read_fit
from cases.rating.judge import Judge
from cases.rating.own_heat import SAME_LOAD, at_own_heat, that_tell
from cases.rating.result import PRESSURE, DesignRating, Stands
from cases.rating.solid import SolidLoads, Spotted
from cases.rating.solid_fits import _SolidFits, limit_near
from cases.rating.solve import BySolid, _limit_of, as_the_solid, rate
from cases.read import read_case
from cases.solid.gas import instants
from cases.solid.life import solid_life
from cases.solid.solve import _meshed
from cases.stress.solve import solve_section
from fea.solid.stress import recover
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

OURS = "[heat]\n" + HEAT.split('700 degC"\n')[1]
LOW = 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\nmaterial = "A356-T6"\n'
TEXT = BLOCK.replace(GAS, ENGINE).replace('material = "A356-T6"\n', LOW)
FOLLOWS, STATED = Heat(gas=None), Heat(gas=(5e-4, 800.0))


@pytest.fixture
def known(monkeypatch):
    """Loads by their factor alone."""
    monkeypatch.setattr(own_heat, "at_load", lambda _gas, factor: SimpleNamespace(factor=factor))


def carried(_found, factor):
    return factor, factor


def searched(limit_at, heat=FOLLOWS):
    asked = []

    def rated(load, factor):
        assert load.factor == factor
        asked.append(load.factor)
        return limit_at(load.factor), limit_at(load.factor)

    own = at_own_heat(None, heat, (limit_at(1.0), limit_at(1.0)), rated, carried)
    return own.found, own.notes, asked


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("slope", [-0.1, -0.4, -0.9, -1.6])
@pytest.mark.parametrize("at_one", [0.6, 1.0, 1.9])
def test_the_load_that_is_its_own_limit_is_found(slope, at_one):
    """Of limits that fall by a power of the heat: l = c h^s is its own at c^(1 / (1 - s))."""
    found, notes, asked = searched(lambda heat: at_one * heat**slope)
    assert found == pytest.approx(at_one ** (1 / (1 - slope)), rel=1e-2)
    assert len(asked) <= 4
    assert "its own heat" in notes[0]


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("at_one", [0.6, 1.9])
def test_to_know_on_which_side_the_limit_lies_is_enough_on_the_way(at_one):
    """Share of (load / limit)^0.6 in place of the limit, until it is near one."""
    exact = []

    def rated(load, factor):
        limit = at_one * factor**-0.4
        share = (factor / limit) ** 0.6
        if abs(math.log(share)) <= SAME_LOAD:
            return exactly(factor)
        return factor, factor / share

    def exactly(factor):
        exact.append(factor)
        return factor, at_one * factor**-0.4

    first = at_one, at_one
    found = at_own_heat(None, FOLLOWS, first, rated, carried, exactly).found
    assert found == pytest.approx(at_one ** (1 / 1.4), rel=2e-2)
    assert len(exact) == 1


@pytest.mark.usefixtures("known")
def test_stated_heat_is_not_moved():
    assert searched(lambda heat: 2.0 / heat, STATED) == (2.0, (), [])


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("beyond", [0.0, 0.9])
def test_a_limit_that_jumps_is_the_load_below_the_jump(beyond):
    """No load is its own limit: above 1.2 hardly anything is borne, below more."""
    found, notes, _ = searched(lambda heat: beyond if heat > 1.2 else 2.0)
    assert 1.2 * 0.97 <= found <= 1.2
    assert "its own heat" in notes[0]


@pytest.mark.usefixtures("known")
def test_a_load_beyond_one_that_is_not_carried_never_is():
    """Between 1.5 and 1.6 the place that governs is missed: less than that is told."""
    own = at_own_heat(
        None, FOLLOWS, (1.62, 1.62),
        lambda _, heat: (heat, 2.0 if 1.55 < heat < 1.58 else 1.5 if heat > 1.45 else 1.6), carried,
    )  # fmt: skip
    assert own.found <= 1.5
    assert own.off < 0.1


@pytest.mark.usefixtures("known")
def test_a_load_that_a_look_at_all_places_finds_not_carried_is_too_much():
    """By the places that are followed 1.5 is carried, by another, followed from then on, 1.2."""
    followed = []

    def least(limit, heat):
        return min(limit, 1.44 / heat) if followed else limit

    def at_all(_found, factor):
        followed.append("another")
        return factor, least(factor, factor)

    own = at_own_heat(
        None, FOLLOWS, (2.0, 2.0),
        lambda _, heat: (heat, least(0.5 if heat > 1.5 else 2.0, heat)), at_all,
    )  # fmt: skip
    assert 1.1 < own.found <= 1.2 * 1.01
    assert f"{own.found:.3g} times the asked load" in own.notes[0]


@pytest.mark.usefixtures("known")
def test_what_is_carried_and_what_is_not_are_told_where_no_more_is_solved():
    """Of loads as the engine gives them up to 1.3 times: the last heats can't be solved."""

    def limit_at(heat):
        if 1.05 < heat < 1.9:
            raise RunError("contact is not found.")
        return 2.0 if heat < 1.5 else 0.5

    found, notes, asked = searched(limit_at)
    assert found == 1.0
    assert asked[0] == pytest.approx(2.0)
    assert "1 times the asked load is carried at its own heat, 2 times is not" in notes[0]


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("at_one", [0.0, 0.05])
def test_a_block_that_the_asked_heat_breaks_bears_less_heat(at_one):
    """Hardly anything at the heat of the asked load, much at a tenth of it."""
    found, notes, _ = searched(lambda heat: at_one if heat == 1 else 1.3 - 1.25 * heat)
    assert found == pytest.approx(1.3 / 2.25, rel=0.02)
    assert "its own heat" in notes[0]


@pytest.mark.usefixtures("known")
def test_a_limit_beyond_all_that_is_tried_is_looked_for_at_its_heat():
    found, _notes, _ = searched(lambda heat: None if heat < 1.5 else 4.0 / heat)
    assert found == pytest.approx(2.0, rel=0.02)


@pytest.mark.usefixtures("known")
def test_a_heat_that_cannot_be_solved_is_told_and_no_large_limit():
    """Much at little heat, so more is tried: that it failed is said, and the limit is too high."""

    def limit_at(heat):
        if heat > 1.4:
            raise RunError("contact is not found.")
        return 2.0

    found, notes, _ = searched(limit_at)
    assert found == 2.0
    assert "could not be solved (contact is not found.)" in notes[0]
    assert "less than its own, and so too high" in notes[0]
    assert "above all" not in notes[0]


def test_a_design_that_was_not_solved_has_no_limit_rather_than_a_large_one():
    rating = DesignRating(
        limit=None, tried=1.0, governing=None, used_at_limit={}, used={}, life_cycles={},
        life_hours=None, spots=(), band=None, notes=(), unsolved="contact is not found.",
    )  # fmt: skip
    with pytest.raises(RunError, match="contact is not found"):
        _limit_of(rating)
    assert _limit_of(replace(rating, unsolved="")) is None


def test_a_load_has_the_cycle_that_loads_the_section_so(case_of):
    gas = gas_load(case_of(TEXT, TIES, BARE, OURS))
    other = at_load(gas, 1.3)
    assert other.line_load == pytest.approx(1.3 * gas.line_load, rel=1e-6)
    assert other.cycle.engine.intake_pressure > gas.cycle.engine.intake_pressure
    assert other.wall_load.film[0] > gas.wall_load.film[0]
    assert at_load(gas, 100.0) is None
    assert at_load(gas_load(case_of(BLOCK, TIES, BARE)), 1.3) is None


@pytest.mark.parametrize("designs", [BARE, RING + FIT])
def test_a_life_heated_otherwise_is_that_of_the_film_stated(case_of, designs):
    """The film of 1.3 times the load as a case would state it; the asked load stays."""
    case = case_of(TEXT, TIES, designs, OURS)
    load = gas_load(case)
    film, hot = gas_film(FOLLOWS, at_load(load, 1.3))
    stated = f'gas_film = "{1e6 * film:.10g} W/(m2 K)"\ngas_temperature = "{hot:.10g} degC"\n'
    same = case_of(TEXT, TIES, designs, OURS.replace("[heat]\n", "[heat]\n" + stated))
    (design,) = case.designs
    mesh = mesh_outline(draw_section(case.section(design)), element_size=6.0, detail=0.5)
    life = life_of(case, design, mesh, load)
    ours, theirs = life.heated_by(at_load(load, 1.3)), life_of(same, design, mesh, load)
    assert ours.heat.temperature.max() > 5 + life.heat.temperature.max()
    np.testing.assert_allclose(ours.heat.temperature, theirs.heat.temperature, atol=0.6)
    for step in (WARM, WARM_GAS):
        moved = theirs.solution(step).displacement
        found = ours.solution(step).displacement
        assert np.abs(found - moved).max() < 0.01 * np.abs(moved).max()
    before, after = (one.cycle_at(EngineState.COLD, 1.0).gas[0].stress for one in (life, ours))
    np.testing.assert_allclose(after, before, atol=0.02 * np.abs(before).max())


@pytest.mark.parametrize("designs", [BARE, pytest.param(RING + FIT, marks=pytest.mark.slow)])
def test_a_solid_heated_otherwise_is_that_of_the_load(case_of, designs):
    case = case_of(TEXT, TIES, designs, OURS)
    load, (design,) = gas_load(case), case.designs
    pressed, mesh = instants(case, load)[:2], _meshed(case, design, "coarse")
    life = solid_life(case, design, load, pressed, mesh)
    loads = SolidLoads(life)
    loads.begin()
    loads.count_yield()
    hotter = loads.heated_by(at_load(load, 1.3))
    told = hotter.yield_share
    hotter.count_yield()
    assert loads.yield_share < told == pytest.approx(hotter.yield_share, rel=0.03)
    theirs = solid_life(case, design, at_load(load, 1.3), pressed, mesh)
    assert hotter.life.temperature.max() > 5 + life.temperature.max()
    np.testing.assert_allclose(hotter.life.temperature, theirs.temperature, atol=1.0)
    warm = theirs.idle(EngineState.WARM).displacement
    found = hotter.life.idle(EngineState.WARM).displacement
    assert np.abs(found - warm).max() < 0.01 * np.abs(warm).max()
    assert hotter.used(1.0) > loads.used(1.0) or designs != BARE
    assert life.temperature.max() < hotter.life.temperature.max()


class TwoPlaces:
    """A solid of two places by load and heat: one that gas pulls, one that heat does and that the
    asked load doesn't tell apart from others."""

    def __init__(self, _life, heat=1.0, followed=("gas",)):
        self.heat, self.followed = heat, set(followed)
        self.tried, self.lives, self.yield_share, self.heats = [], {}, 0.0, None

    def shares(self, factor):
        return {"gas": 0.6 * factor, "heat": (self.heat / 1.3) ** 3}

    def used(self, factor):
        self.tried.append(factor)
        return max(self.shares(factor)[place] for place in self.followed)

    def everywhere(self, factor):
        part, share = max(self.shares(factor).items(), key=lambda of: of[1])
        return Spotted(share, EngineState.WARM, 0, part, 0)

    def follow(self, place):
        self.followed.add(place.part)

    def heated_by(self, load):
        return TwoPlaces(None, load.factor, self.followed)

    def begin(self):
        pass

    count_yield = begin

    def know_heats(self, _gas, _heats):
        pass

    def pushed(self, _place, _factor):
        return 0.0


@pytest.mark.usefixtures("known")
def test_a_place_found_at_one_heat_is_judged_at_the_others(monkeypatch):
    """What heat alone breaks at 1.3 times the load, and what gas does at 1.67: 1.3 is the limit."""
    monkeypatch.setattr(solid, "SolidLoads", TwoPlaces)
    monkeypatch.setattr(solid, "_spot", lambda *_: None)
    monkeypatch.setattr(solid, "_places", lambda *_: ())
    monkeypatch.setattr(
        solid, "stands", lambda _load, factor: Stands(factor=factor, pressure_mpa=None)
    )
    life = SimpleNamespace(load=None, given=SimpleNamespace(heat=FOLLOWS))
    rated, loads, _ = solid.rate_solid(life)
    assert "its own heat" in rated.notes[0]
    assert rated.limit.factor == pytest.approx(1.3, rel=0.02)
    assert loads.followed == {"gas", "heat"}


def by_solid(factor, draws=None):
    limit = None if factor is None else Stands(factor=factor, pressure_mpa=None)
    return BySolid(SimpleNamespace(limit=limit), draws)


def test_a_section_beside_a_solid_is_at_the_heat_of_its_limit(monkeypatch):
    monkeypatch.setattr(solving, "at_load", lambda _gas, factor: factor if factor < 9 else None)

    def rated(load, factor):
        assert load == factor
        if factor > 5:
            raise RunError("not found")
        return f"at {factor}", factor and 0.7 * factor

    drawn_ = object()
    own = as_the_solid(None, FOLLOWS, by_solid(1.8, drawn_), rated)
    assert (own.found, own.heats) == ("at 1.8", ((1.8, "at 1.8"),))
    assert "the heat of 1.8 times the asked load, that of the solid's limit" in own.notes[0]
    for heat, solid_ in (
        (STATED, by_solid(1.8, drawn_)),
        (FOLLOWS, None),
        (FOLLOWS, by_solid(1.8)),  # the section is drawn itself, at its own heat
        (FOLLOWS, by_solid(None, drawn_)),
        (FOLLOWS, by_solid(0.0, drawn_)),
        (FOLLOWS, by_solid(6.0, drawn_)),
        (FOLLOWS, by_solid(10.0, drawn_)),
    ):
        assert as_the_solid(None, heat, solid_, rated) is None


def at_heats(low, limit, **of):
    """Heats by the factor of their load, as a search leaves them, and those that tell."""
    less = []

    def heated(load):
        less.append(load.factor)
        return "less"

    return (*that_tell(None, [(limit, "own"), *((one, one) for one in low)], heated, **of), less)


@pytest.mark.usefixtures("known")
def test_heats_that_are_alike_tell_nothing_of_what_more_of_it_does():
    kept, notes, less = at_heats([1.0, 0.61, 0.66, 0.9, 1.4], 0.6)
    assert [factor for factor, _ in kept] == [0.6, 0.9, 1.4]
    assert notes == ()
    assert not less


@pytest.mark.usefixtures("known")
def test_heats_of_less_load_than_the_limit_are_near_enough_to_read_between():
    """Above it as far apart as they are."""
    kept, notes, less = at_heats([0.55, 1.0, 1.3, 2.5], 1.2)
    assert less == [pytest.approx(0.55**0.5)]
    assert sorted(factor for factor, _ in kept) == pytest.approx([0.55, 0.55**0.5, 1.0, 1.2, 2.5])
    assert notes == ()


@pytest.mark.usefixtures("known")
def test_a_heat_between_that_cannot_be_solved_is_told():
    def heated(_load):
        raise RunError("contact is not found.")

    kept, notes = that_tell(None, [(1.0, "own"), (0.5, "low")], heated)
    assert kept == [(1.0, "own"), (0.5, "low")]
    assert [re.search("of (.*) times.*contact", of)[1] for of in notes] == ["0.63", "0.794"]


@pytest.mark.usefixtures("known")
def test_where_only_the_limits_heat_was_solved_that_of_less_load_is():
    kept, _, less = at_heats([1.0], 1.05)
    assert kept == [(1.05, "own"), (pytest.approx(0.84), "less")]
    assert less == [pytest.approx(0.84)]


def test_an_engine_that_can_give_no_less_leaves_the_draws_at_the_heat_of_the_limit(monkeypatch):
    monkeypatch.setattr(own_heat, "at_load", lambda _gas, _factor: None)
    kept, notes, _ = at_heats([], 1.0)
    assert kept == []
    assert "all at the heat of the limit" in notes[0]
    assert that_tell(None, [], None) == ([], ())


LOOSE = RING + FIT.replace("40 um", "20 um") + 'ties = { clearance = "50 um" }\n'
"""Above 20 degC the insert presses harder, so that heat alone uses much."""
STRENGTHS = 0.85, 1.1
"""Of the metals of two draws, over that of half of the parts."""


def weaker(materials, by):
    """Materials with all of their strengths times a factor."""

    def times(points):
        return tuple((at, by * of) for at, of in points)

    return {
        part: replace(
            of, yield_points=times(of.yield_points), tensile_points=times(of.tensile_points),
            fatigue=of.fatigue and replace(of.fatigue, strength=by * of.fatigue.strength),
        )
        for part, of in materials.items()
    }  # fmt: skip


def drawn(materials):
    names = [STRENGTH.format(of.name) for of in materials.values()]
    return {PRESSURE: np.ones(2), **dict.fromkeys(names, np.array(STRENGTHS))}


@pytest.mark.parametrize("designs", [BARE, LOOSE])
def test_each_draw_is_at_the_heat_of_its_own_load(case_of, designs):
    """At its limit a draw uses all of its strength, solved whole at the heat of that load."""
    case = case_of(TEXT, TIES, designs, OURS)
    load, (design,) = gas_load(case), case.designs
    mesh = mesh_outline(draw_section(case.section(design)), element_size=6.0, detail=0.5)
    life = life_of(case, design, mesh, load)
    judge = Judge(case, design, life.mesh)
    further = 1.6 if designs == BARE else 0.8
    heats = [(factor, life.heated_by(at_load(load, factor))) for factor in [further]]
    solved = solve_around(judge, [life], 1.0, (), [(1.0, life), *heats])
    for strength, limit in zip(
        STRENGTHS, draw_limits(judge, solved, drawn(judge.materials)), strict=True
    ):
        judge.materials = weaker(case.part_materials(design), strength)
        own = life.heated_by(at_load(load, limit))
        used = judge.used([judge(cycle) for cycle in own.at_gas(limit)])
        assert used == pytest.approx(1.0, abs=0.06)


def carried_at_own_heat(life, like, limit, off):
    """Whether a solid of such strength carries near a limit, all of its surface judged."""
    own = like.heated_by(at_load(life.load, off * limit))
    own.life.materials = life.materials
    own.yield_share = own._share_that_yields()
    return max(own.everywhere(off * limit).share, off * limit * own.yield_share) < 1


@pytest.mark.parametrize("designs", [BARE, pytest.param(LOOSE, marks=pytest.mark.slow)])
def test_each_draw_of_a_solid_is_at_the_heat_of_its_own_load(case_of, designs):
    """A little less than its limit a draw carries at the heat of that load, a little more not.

    A place that heat pulls hard uses a fifth more of its strength there for half a per cent more
    load, so that the share at the limit itself tells little of how near it is.
    """
    case = case_of(TEXT, TIES, designs, OURS)
    load, (design,) = gas_load(case), case.designs
    pressed, mesh = instants(case, load)[:2], _meshed(case, design, "coarse")
    loads = SolidLoads(solid_life(case, design, load, pressed, mesh))
    loads.begin()
    further = [0.7 if designs == BARE else 0.6, 1.4]
    heats = [(1.0, loads), *((of, loads.heated_by(at_load(load, of))) for of in further)]
    heats, _ = that_tell(load, heats, loads.heated_by)
    draws = draws_of(loads, 1.0, heats)
    assert set(draws.solved.loads) >= {0.0, further[0], 1.0}
    limits = draw_limits(draws.judging, draws.solved, drawn(draws.judging.materials))
    for strength, limit in zip(STRENGTHS, limits, strict=True):
        life = SimpleNamespace(load=load, materials=weaker(loads.life.materials, strength))
        assert carried_at_own_heat(life, loads, limit, 0.975)
        assert not carried_at_own_heat(life, loads, limit, 1.025)


@pytest.mark.slow
def test_weak_draws_far_below_the_limit_are_those_of_solids_about_their_load():
    """The bundled ``local``, whose limit with all at its middle is nearly twice the asked load."""
    path = Path(solid.__file__).parents[1] / "library" / "hillclimb_four.toml"
    case = read_case(path)
    design = next(of for of in case.designs if of.name == "local")
    load = gas_load(case)
    mesh = _meshed(case, design, "coarse")
    life = solid_life(case, design, load, instants(case, load)[::3], mesh)
    rated, loads, heats = solid.rate_solid(life)
    heats, _ = that_tell(load, heats, loads.heated_by)
    asked = next(of for factor, of in heats if factor == 1.0)
    about = [(factor, asked.heated_by(at_load(load, factor))) for factor in (0.7, 1.3)]
    for factor, of in about:
        of.used(factor)

    def told(of, factor, with_heats):
        return band_of_solid(draws_of(of, factor, with_heats), {})[0]

    far, near = told(loads, rated.limit.factor, heats), told(asked, 1.0, [(1.0, asked), *about])
    assert rated.limit.factor > 1.5 * near.limit
    assert far.limit == pytest.approx(near.limit, rel=0.02)
    assert far.carries == pytest.approx(near.carries, abs=0.01)
    # as any other fit is read
    read = replace(draws_of(asked, 1.0), solved=read_fit(loads, rated.limit.factor))
    fit = band_of_solid(read, {})
    assert fit[0].limit == pytest.approx(near.limit, rel=0.08)


@pytest.mark.slow
def test_weak_draws_below_all_loads_of_the_search_are_read_at_one_of_less(case_of, monkeypatch):
    """Heat is stated; set against loads a tenth of the limit apart. Without it 4 % too high."""
    stated = HEAT.split("[piston_ring]")[0]
    case = case_of(TEXT.replace(ENGINE, GAS), TIES, LOOSE, stated)
    load, (design,) = gas_load(case), case.designs
    pressed, mesh = instants(case, load)[::3], _meshed(case, design, "coarse")
    rated, loads, _ = solid.rate_solid(solid_life(case, design, load, pressed, mesh))
    limit = rated.limit.factor

    def told():
        return band_of_solid(draws_of(loads, limit), {})[0].limit

    assert limit < 0.9
    assert min(loads.tried) > 0.75 * limit
    found = told()
    monkeypatch.setattr(depth_band, "_less", lambda *_: limit * np.linspace(0.3, 0.9, 7))
    assert found == pytest.approx(told(), rel=0.02)
    monkeypatch.setattr(depth_band, "_less", lambda *_: [])
    assert told() > 1.02 * found


@pytest.mark.slow
@pytest.mark.parametrize("um", [4.0, 11.0])
def test_another_fit_is_at_the_heat_of_its_own_load(case_of, um):
    """Heat solved anew at that load, through the joint of that fit, and all of its surface judged.

    At the heat of the stated limit these fits would carry 2.3 and 1.8 times the asked load, at
    their own 1.4 and 1.2 (at all crank angles; here at four).
    """
    case = case_of(TEXT, TIES, LOOSE, OURS, "[rating]\ndraws = 200\n")
    load, (design,) = gas_load(case), case.designs
    pressed, mesh = instants(case, load)[:4], _meshed(case, design, "coarse")
    life = solid_life(case, design, load, pressed, mesh)
    rated, loads, _ = solid.rate_solid(life)
    other = loads.with_interference(um / 1000, rated.limit.factor)
    limit, *_ = limit_near(other, rated.limit.factor)
    assert carried_at_own_heat(life, other, limit, 0.96)
    assert not carried_at_own_heat(life, other, limit, 1.04)
    # a draw with all at its middle is read to carry as much
    judging, names = judging_of(loads), {of.name for of in life.materials.values()}
    middle = {PRESSURE: np.ones(1), **{STRENGTH.format(of): np.ones(1) for of in names}}
    (read,) = draw_limits(judging, read_fit(other, limit), middle)
    assert read == pytest.approx(limit, rel=0.03)
    # hold and yield of a fit are those of the asked load, whichever the search began from
    fits = _SolidFits(loads, rated.limit)
    one, another = (fits._point(um / 1000, other, limit, None, gas) for gas in (limit, 0.7 * limit))
    assert (one.held, one.over_yield) == (another.held, another.over_yield)
    hot = other.at_heat(1.0)
    (state,) = hot.life.states(EngineState.WARM, 1.0, (hot.at_worst(EngineState.WARM),))
    told = hot.over_yield(EngineState.WARM, recover(state.solution))
    assert one.over_yield[WARM_GAS] == pytest.approx(told)


@pytest.mark.slow
def test_what_draws_of_a_fit_carry_hangs_not_on_which_is_stated(case_of):
    """Read from a solid that states another fit, and from one that states it.

    Bundled block, coarse, nine of ten draws: at 35 um 1.115 as stated and where 40 is, at 40 um
    1.185 as stated and 1.16 where 35 is, at 44 um 1.15 both as stated and where 40 is.
    """

    def rated(um):
        fit = LOOSE.replace('"20 um"', f'"{um} um"')
        case = case_of(TEXT, TIES, fit, OURS, "[rating]\ndraws = 400\n")
        load, (design,) = gas_load(case), case.designs
        pressed, mesh = instants(case, load)[:4], _meshed(case, design, "coarse")
        rating, loads, heats = solid.rate_solid(solid_life(case, design, load, pressed, mesh))
        return rating.limit.factor, loads, that_tell(load, heats, loads.heated_by)[0]

    def carried(judging, solved):
        _, effects = draw_inputs(judging.wishes, judging, solved, [])
        return np.quantile(draw_limits(judging, solved, effects), [0.1, 0.5])

    limit, loads, _ = rated(20)
    other = loads.with_interference(0.014, limit)
    near, *_ = limit_near(other, limit)
    read = carried(judging_of(other), read_fit(other, near))
    alone, own, heats = rated(14)
    draws = draws_of(own, alone, heats)
    assert near == pytest.approx(alone, rel=0.03)
    assert read == pytest.approx(carried(draws.judging, draws.solved), rel=0.04)


def test_a_rating_tells_a_band_at_its_own_heat(case_of):
    """Of strength that scatters by 10 %. With heat held the band is from 0.73 to 1.32."""
    scatter = '[rating]\nwall_tolerance = "0 mm"\npressure_scatter = "0 %"\n'
    case = case_of(TEXT.replace('"2 bar"', '"2.9 bar"'), TIES, BARE, OURS, scatter)
    load, (design,) = gas_load(case), case.designs
    solved = solve_section(case, design, draw_section(case.section(design)), load.line_load)
    life = life_of(case, design, solved.mesh, load)
    rating, _ = rate(case, design, solved, life, lambda _: nullcontext())
    low, _, high = rating.band.factor
    assert low > 0.88
    assert high < 1.18
    assert rating.nominal.error > SAME_LOAD * rating.nominal.factor
    assert not any("all at the heat of the limit" in note for note in rating.notes)
