"""Rating: what is judged, what governs, what is told; the draws around a limit."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BARE, BLOCK, FIT, HEAT, RING, TIES
from unswept import solve_at_once, solve_unswept

from cases.base.faults import CaseError, RunError
from cases.gas.solve import gas_load
from cases.life.base import OnePieceLife
from cases.life.given import life_given
from cases.life.life import life_of
from cases.life.refine import refined_life
from cases.rating.band import FIT as FIT_DRAWN
from cases.rating.band import (
    LENGTH,
    PRESSURE,
    WALLS,
    Places,
    Solved,
    band_of,
    draw_limits,
    solve_around,
    thinner,
    used_by,
)
from cases.rating.given import Rating
from cases.rating.judge import RATED_PARTS, Judge
from cases.rating.limit import rate_design
from cases.rating.result import (
    DISTANCE,
    FATIGUE,
    SURFACE,
    TENSILE,
    YIELD,
    is_rated,
    rating_of,
)
from cases.rating.shares import judge
from cases.rating.solve import rate_settled
from cases.rating.steep import critical_distances
from cases.run import solve_case
from fea.hotspots import spot_at
from fea.material import Fatigue, Material
from fea.strength import basquin_exponent, inward, stacked, ways_into
from fea.stress import principal
from geometry.section_mesh import Corner

LINER = 'liner = "2.5 mm"\nliner_material = "grey iron class 30"\n'
LIGHT = FIT.replace("40 um", "8 um")
WISHES = "[rating]\ndraws = 400\n"
METAL = Material(
    "metal", 70_000.0, 0.33,
    yield_points=((20.0, 200.0), (120.0, 100.0)),
    tensile_points=((20.0, 300.0), (120.0, 150.0)),
    fatigue=Fatigue(strength=90.0, cycles=1e8, exponent=-0.1, scatter=0.1),
)  # fmt: skip

AL_6061 = Material(
    "6061-T6", 68_900.0, 0.33, tensile_points=((20.0, 310.0),),
    fatigue=Fatigue(96.5, 5e8, basquin_exponent(310, 96.5, 5e8), 0.08, (4.0, 5.5, 7.5)),
)  # fmt: skip


@pytest.fixture(scope="module")
def rated(case_of):
    return solve_unswept(case_of(BLOCK, HEAT, TIES, BARE, RING, LIGHT, WISHES), rate=True)


def lined_texts(held=""):
    block = BLOCK.replace('barrel_wall = "8 mm"\n', 'barrel_wall = "8 mm"\n' + LINER + held)
    return block, HEAT, TIES, BARE, "[rating]\ndraws = 0\n"


@pytest.fixture(scope="module")
def lined(case_of):
    return rating_of(solve_unswept(case_of(*lined_texts()), rate=True).designs[0])


def uniaxial(stress):
    return np.array([stress, 0.0, 0.0])[:, None]


def test_a_hot_place_is_weaker():
    """By half here: yield, tensile and, in proportion, fatigue strength."""
    at = {
        warmth: judge(
            Rating(mean_stress="Smith-Watson-Topper"), METAL, uniaxial(0.0), uniaxial(60.0),
            np.array([warmth]), cycles=1e8,
        )
        for warmth in (20.0, 120.0)
    }  # fmt: skip
    cold, hot = at[20.0], at[120.0]
    assert cold.shares[YIELD] == pytest.approx(60 / 200)
    assert cold.shares[TENSILE] == pytest.approx(60 / 300)
    assert cold.shares[FATIGUE] == pytest.approx(60 / np.sqrt(2) / 90)
    for kind in (YIELD, TENSILE, FATIGUE):
        assert hot.shares[kind] == pytest.approx(2 * cold.shares[kind])
    assert hot.life_cycles == pytest.approx(cold.life_cycles * 2**-10)


def test_yield_counts_what_the_gas_adds(rated):
    """100 idle and 160 at gas against 200 (derived); with no gas nothing is added, warm or cold."""
    found = judge(Rating(), METAL, uniaxial(100.0), uniaxial(160.0), np.array([20.0]), cycles=1e7)
    assert found.shares[YIELD] == pytest.approx(60 / 200)
    for design, solved in zip(rated.case.designs, rated.designs, strict=True):
        life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
        judge_ = Judge(rated.case, design, life.mesh)
        for asked, none in zip(life.at_gas(1.0), life.at_gas(0.0), strict=True):
            assert judge_.yielding(asked).share > 0.05
            assert judge_.yielding(none).share < 0.02


def test_a_pull_that_gas_takes_away_wears_too():
    """80 along x with no gas, 20 along y with gas: the cycle along x is 80 to 0."""
    found = judge(
        Rating(mean_stress="Smith-Watson-Topper"), METAL,
        np.array([[80.0], [0.0], [0.0]]), np.array([[0.0], [20.0], [0.0]]),
        np.array([20.0]), cycles=1e8,
    )  # fmt: skip
    assert found.amplitude == pytest.approx(40.0)
    assert found.mean == pytest.approx(40.0)


def test_strength_drawn_scales_every_share():
    given = (Rating(mean_stress="Smith-Watson-Topper"), METAL, uniaxial(0.0), uniaxial(60.0))
    one, half = (
        judge(*given, np.array([20.0]), cycles=1e7, strength=strength) for strength in (1.0, 0.5)
    )
    for kind in (YIELD, TENSILE, FATIGUE):
        assert half.shares[kind] == pytest.approx(2 * one.shares[kind])


def test_fit_and_heat_are_held_and_contact_is_solved_again(rated, case_of):
    """At the limit a share is one; stress there is not the asked one scaled, as the joint opens."""
    for design in rated.designs:
        rating = rating_of(design)
        assert max(rating.used_at_limit.values()) == pytest.approx(1.0, abs=6e-3)
        assert rating.limit.pressure_mpa == pytest.approx(12.0 * rating.limit.factor)
        assert rating.governing.spot.part in RATED_PARTS
        assert rating.governing.share == pytest.approx(1.0, abs=6e-3)
    case = rated.case
    ring = rated.designs[1]
    fit = life_given(case).fits[case.designs[1].name]
    life = refined_life(case, case.designs[1], ring, gas_load(case), fit)
    factor = rating_of(ring).nominal.factor
    twice = life.at_gas(2.0)[0]
    once = life.at_gas(1.0)[0]
    for idle, at_one, at_two in zip(once.idle, once.gas, twice.gas, strict=True):
        if at_one.part == "barrel":
            scaled = idle.stress + 2 * (at_one.stress - idle.stress)
            off = np.abs(at_two.stress - scaled).max() / np.abs(at_two.stress).max()
            assert off > 0.02
    again = Judge(case, case.designs[1], life.mesh)
    worst = again.worst([again(cycle) for cycle in life.at_gas(factor)])
    assert max(one.share for one in worst.values()) == pytest.approx(1.0, abs=6e-3)


def test_a_liner_of_unknown_interference_is_rated_by_the_middle_of_its_range(lined, case_of):
    """The shrink of A356 on grey iron from 80 and 160 degC, 10.7e-6 x 60 and 140 K on 85 mm."""
    middle = 1000 * 10.7e-6 * 100 * 85
    told = (
        "the liner's interference is not stated: it is rated at {:.0f} um, the middle of {:.0f} to"
    )
    assert lined.notes[0].startswith(told.format(middle, 0.6 * middle))
    case = case_of(*lined_texts(f'liner_interference = "{middle} um"\n'))
    stated = rating_of(solve_unswept(case, rate=True).designs[0])
    assert lined.limit.factor == pytest.approx(stated.limit.factor, rel=1e-6)
    assert [spot.share for spot in lined.spots] == sorted(
        (spot.share for spot in lined.spots), reverse=True
    )


def test_a_fitted_design_has_its_band_where_its_liner_states_no_interference(case_of):
    """Its least and its most are judged as its middle is, on one mesh."""
    block = BLOCK.replace('barrel_wall = "8 mm"\n', f'barrel_wall = "8 mm"\n{LINER}')
    light = FIT.replace("40 um", "10 um")
    case = case_of(block, RING + light, "[rating]\ndraws = 50\n")
    rating = rating_of(solve_unswept(case, rate=True).designs[0])
    assert rating.band is not None, rating.notes
    assert "liner interference" in rating.band.causes


def test_a_liner_with_its_interference_can_govern(case_of):
    """A light press leaves a grey iron liner pulled by gas; a heavy one keeps it pressed."""
    found = {}
    for stated in ("10 um", "150 um"):
        block = BLOCK.replace(
            'barrel_wall = "8 mm"\n',
            f'barrel_wall = "8 mm"\n{LINER}liner_interference = "{stated}"\n',
        )
        case = case_of(block, TIES, BARE, "[rating]\ndraws = 0\n")
        found[stated] = rating_of(solve_unswept(case, rate=True).designs[0])
        assert not any("is not stated" in note for note in found[stated].notes)
        notes = " ".join(found[stated].notes)
        assert "grey iron class 30: not judged by yield" in notes
    assert found["10 um"].governing.spot.part == "liner"
    assert found["150 um"].governing.spot.part != "liner"


def test_a_band_lies_around_its_limit_and_names_its_causes(rated):
    bare, ring = (rating_of(design) for design in rated.designs)
    for rating in (bare, ring):
        low, middle, high = rating.band.factor
        assert low < middle < high
        assert middle == pytest.approx(rating.nominal.factor, rel=0.1)
        assert low < rating.limit.factor == rating.band.limit < middle
        assert sum(rating.band.causes.values()) == pytest.approx(1.0)
        assert next(iter(rating.band.causes)) == "strength of A356-T6"
    assert FIT_DRAWN in ring.band.causes
    assert FIT_DRAWN not in bare.band.causes
    assert WALLS in bare.band.causes
    thin, stated, thick = bare.band.shifts[WALLS]
    assert thin < stated == 1 < thick
    assert set(ring.band.shifts) == {FIT_DRAWN, WALLS}


def test_a_tolerance_of_no_common_interference_is_not_drawn_and_that_is_told(case_of):
    clear = '[design.fit]\nclearance = "40 um"\ntolerance = "20 um"\nfriction = 0.1\n'
    rating = rating_of(
        solve_at_once(case_of(BLOCK, TIES, RING, clear, WISHES), rate=True).designs[0]
    )
    assert FIT_DRAWN not in rating.band.causes
    assert any(note.startswith("the fit is not drawn") for note in rating.notes)


def test_the_end_of_a_bonded_side_is_judged_by_the_critical_distance(case_of):
    """Ties brazed, the rest pressed: where the bond ends stress has no finite value.

    It is not left out: the mean over 2L counts, known better than the stress at the place.
    """
    bonded = "[design.fit.ties]\nbonded = true\n"
    case = case_of(BLOCK, TIES, RING, LIGHT, bonded, "[rating]\ndraws = 0\n")
    (design,) = solve_unswept(case, rate=True).designs
    life = life_of(case, case.designs[0], design.mesh, gas_load(case))
    ends = np.array(life.bond_ends())
    assert len(ends) == 8  # four corners at each of two ties
    pairs = life.mesh.points[life.cold.pairs.own]
    at = [np.hypot(*(pairs - end).T).argmin() for end in ends]
    assert life.cold.bonded[at].all()
    rating = rating_of(design)
    near = [
        one for one in rating.spots
        if np.hypot(*(ends - [one.spot.x_mm, one.spot.y_mm]).T).min() < 0.5
    ]  # fmt: skip
    assert near
    for one in near:
        assert one.judged_by == DISTANCE
        there = [
            other.spot.error_mpa for other in near
            if np.hypot(other.spot.x_mm - one.spot.x_mm, other.spot.y_mm - one.spot.y_mm) < 0.05
        ]  # fmt: skip
        assert one.error_mpa < max(there)  # of parts that meet there one may agree by chance
        metal = AL_6061 if one.spot.part == "insert" else case.materials[one.spot.part]
        assert one.length_mm == pytest.approx(critical_distances(Rating(), metal)[1])
    told = any(note.startswith("the limit, and its band, are at most") for note in rating.notes)
    assert rating.limit.at_most == told


def test_no_draws_no_band(case_of):
    case = case_of(BLOCK, TIES, BARE, "[rating]\ndraws = 0\n")
    rating = rating_of(solve_unswept(case, rate=True).designs[0])
    assert rating.band is None
    assert rating.limit is not None


def test_a_case_that_is_only_solved_is_not_rated(case_of):
    assert not is_rated(solve_case(case_of(BLOCK, TIES, BARE)).designs[0])


def test_a_block_that_stands_all_that_is_tried_has_no_limit(case_of):
    case = case_of(BLOCK.replace("120 bar", "1 bar"), TIES, BARE)
    rating = rating_of(solve_unswept(case, rate=True).designs[0])
    assert rating.limit is None
    assert rating.band is None
    assert rating.tried == pytest.approx(6.0)
    assert rating.governing is not None


def test_heat_alone_can_use_all(case_of):
    hot = HEAT.replace("700 degC", "2500 degC").replace("250 W", "900 W")
    case = case_of(BLOCK, hot, TIES, BARE, '[rating]\ncasting_quality = "30 %"\n')
    rating = rating_of(solve_unswept(case, rate=True).designs[0])
    assert rating.limit.factor == 0
    assert rating.limit.pressure_mpa == 0
    assert rating.band is None
    assert "fit and heat alone" in rating.notes[-1]


def test_a_load_that_can_t_be_solved_costs_the_limit_only(case_of, monkeypatch):
    solve = OnePieceLife.at_gas

    def up_to_asked(life, factor):
        if factor != 1.0:
            raise RunError("not found")
        return solve(life, factor)

    monkeypatch.setattr("cases.life.base.OnePieceLife.at_gas", up_to_asked)
    rating = rating_of(solve_unswept(case_of(BLOCK, TIES, BARE), rate=True).designs[0])
    assert rating.limit is None
    assert rating.notes[-1] == "no limit: another gas load could not be solved. not found"
    assert rating.spots


def test_a_thinner_wall_that_can_t_be_drawn_costs_its_draws_only(case_of, monkeypatch):
    def refused(*_):
        raise CaseError("case.toml", [])

    monkeypatch.setattr("cases.rating.band.thinner", refused)
    rating = rating_of(solve_unswept(case_of(BLOCK, TIES, BARE, WISHES), rate=True).designs[0])
    assert WALLS not in rating.band.causes
    assert rating.notes[-1].startswith("wall thickness is not drawn")


def test_thinner_walls_are_thinner_at_the_relief_cuts_too(case_of):
    cut = '[[relief_cut]]\nclock = "2:15"\nradius = "54 mm"\ndiameter = "18 mm"\ndepth = "20 mm"\n'
    case = case_of(BLOCK, cut, BARE)
    block, less = case.block, thinner(case, 0.3).block
    assert less.barrel_wall == pytest.approx(block.barrel_wall - 0.3)
    left, still = (
        one.relief_cuts[0].radius - one.relief_cuts[0].diameter / 2 - one.bore / 2
        for one in (block, less)
    )
    assert still == pytest.approx(left - 0.3)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ('mean_stress = "Soderberg"', "rating.mean_stress", "'Goodman', 'Gerber'"),
        ('criterion = "shear"', "rating.criterion", "'largest principal'"),
        ("cycles = 10", "rating.cycles", "1e3 to 1e10"),
        ('cycles = "many"', "rating.cycles", "plain number"),
        ('reliability = "100 %"', "rating.reliability", "50 % to 99.99 %"),
        ('casting_quality = "0 %"', "rating.casting_quality", "0 % is not above 0 %"),
        ('wall_tolerance = "4 mm"', "rating.wall_tolerance", "0 to 2 mm"),
        ("draws = -1", "rating.draws", "20 to 100000"),
        ("draws = 2", "rating.draws", "fewer have no 5 %"),
        ("knock = 3", "rating.knock", "There is no such key"),
    ],
)
def test_wrong_wishes_are_refused(case_of, text, place, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, TIES, BARE, f"[rating]\n{text}\n")
    assert place in str(refused.value)
    assert words in str(refused.value)


def test_a_steep_place_is_judged_by_the_mean_over_twice_the_critical_distance(rated):
    """Read again along a way of its own, normal to the edge; all other places as before."""
    design, solved = rated.case.designs[0], rated.designs[0]
    spot = rating_of(solved).governing.spot
    life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
    cycles, mesh = life.at_gas(1.0), life.mesh
    plain = Judge(rated.case, design, mesh)
    steep = plain.with_steep([(spot.x_mm, spot.y_mm)])
    at = int(np.hypot(*(mesh.points - [spot.x_mm, spot.y_mm]).T).argmin())
    (_, length, _) = critical_distances(Rating(), rated.case.materials["barrel"])
    assert length == pytest.approx(5.0**2 / (2 * 90 * (1e7 / 5e8) ** -0.07934) ** 2 * 1000 / np.pi,
                                   rel=1e-3)  # fmt: skip
    for cycle in cycles:
        before, after = plain(cycle), steep(cycle)
        for number, layer in enumerate(cycle.gas):
            metals = {part: of.name for part, of in steep.materials.items()}
            of = after.felt[number]
            assert of.by_distance.any() == steep.steep[layer.nodes].any()
            assert (of.gas[:, ~of.by_distance] == layer.stress[:, ~of.by_distance]).all()
            if at not in layer.nodes:
                continue
            row = int(np.searchsorted(layer.nodes, at))
            ways = ways_into(mesh, cycle.gas, metals, layer=[number], node=[at],
                             direction=[inward(mesh)[at]], length=[length])  # fmt: skip
            mean = (ways.line @ stacked(cycle.gas))[0]
            assert of.gas[:, row] == pytest.approx(mean)
            share = after.layers[number].shares[TENSILE][row]
            strength = (
                principal(layer.stress[:, row])[0] / before.layers[number].shares[TENSILE][row]
            )
            assert share == pytest.approx(principal(mean)[0] / strength)
            assert share < before.layers[number].shares[TENSILE][row]
    peak = steep.peak(after, FATIGUE)
    found = steep.spot([after], peak.layer, peak.row)
    assert found.judged_by in (SURFACE, DISTANCE)


def test_what_lies_about_a_corner_is_judged_by_the_critical_distance(rated):
    """Everything within half a millimetre, however fine the mesh."""
    design, mesh = rated.case.designs[1], rated.designs[1].mesh
    life = life_of(rated.case, design, mesh, gas_load(rated.case))
    x, y = life.mesh.points[life.mesh.triangles[0, 0]].tolist()
    mesh = replace(life.mesh, corners=(Corner(x, y, 230.0),))
    away = np.hypot(mesh.points[:, 0] - x, mesh.points[:, 1] - y)
    judge_ = Judge(rated.case, design, mesh)
    assert judge_.steep[away < 0.49].all()
    assert not judge_.steep[away > 5].any()


def test_a_metal_without_a_threshold_has_no_limit_but_at_most_one(rated):
    """It is not judged at the steep place, and that is told."""
    design, solved = rated.case.designs[0], rated.designs[0]
    life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
    spot = rating_of(solved).governing.spot
    judge_ = Judge(rated.case, design, life.mesh, [(spot.x_mm, spot.y_mm)])
    judge_.lengths = dict.fromkeys(judge_.lengths)
    rating = rate_design(judge_, life)
    assert rating.limit.at_most
    assert "no threshold of its metal is known" in " ".join(rating.notes)
    assert np.hypot(rating.governing.spot.x_mm - spot.x_mm,
                    rating.governing.spot.y_mm - spot.y_mm) > 0.5  # fmt: skip


def test_a_mean_needs_elements_no_longer_than_its_way(rated):
    """On the coarse bench block, elements of 1.3 mm at the bore and a way of 0.26 mm."""
    design, solved = rated.case.designs[0], rated.designs[0]
    life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
    spot = rating_of(solved).governing.spot
    judge_ = Judge(rated.case, design, life.mesh, [(spot.x_mm, spot.y_mm)])
    doubts = judge_.doubts([judge_(cycle) for cycle in life.at_gas(1.0)])
    assert doubts[0].why.startswith("elements of")
    assert rate_design(judge_, life).limit.at_most
    judge_.lengths = dict.fromkeys(judge_.lengths, (2.0, 2.0, 2.0))
    again = Judge(rated.case, design, life.mesh, [(spot.x_mm, spot.y_mm)])
    again.lengths = judge_.lengths
    rating = rate_design(again, life)
    assert not rating.limit.at_most
    assert rating.limit.factor > rating_of(solved).nominal.factor


def test_a_place_whose_error_is_large_is_rated_again_by_the_critical_distance(rated):
    """Said to be off by half, where it governs: judged by the mean, and said so."""
    design, solved = rated.case.designs[0], rated.designs[0]
    life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.rating.judge.spot_at", lambda *given: replace(
            found := spot_at(*given), error_mpa=0.5 * found.principal_mpa
        ))  # fmt: skip
        judge_, rating = rate_settled(Judge(rated.case, design, life.mesh), life)
    assert rating.governing.judged_by == DISTANCE
    assert judge_.places
    assert rating.limit.at_most
    untouched, same = rate_settled(Judge(rated.case, design, life.mesh), life)
    assert not untouched.places
    assert same.limit == rating_of(solved).nominal


def test_what_is_read_between_solved_fits_and_loads_is_what_would_be_solved(rated):
    """Half a tolerance off and a quarter more gas: neither was solved for the band."""
    design, solved = rated.case.designs[1], rated.designs[1]
    life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
    judge_ = Judge(rated.case, design, life.mesh)
    limit, stated, tolerance = rating_of(solved).nominal.factor, 0.008, 0.004
    lives = [life.with_interference(stated + sign * tolerance) for sign in (-1, 0, 1)]
    around = solve_around(judge_, lives, limit)
    between = life.with_interference(stated + 0.5 * tolerance)
    for load in (0.75 * limit, 1.25 * limit):
        cycles = [judge_(cycle) for cycle in between.at_gas(load)]
        exact = max(one.share for one in judge_.worst(cycles).values())
        effects = {
            FIT_DRAWN: np.array([0.5]),
            PRESSURE: np.ones(1),
            **{f"strength of {name}": np.ones(1) for name in ("A356-T6", "6061-T6")},
        }
        read = used_by(judge_, around, effects, np.array([load]))
        assert read == pytest.approx(exact, rel=0.1)


def test_a_draw_whose_fit_alone_breaks_the_metal_stands_no_gas():
    """Pull without gas of 150, 200 or 350 MPa by the fit, 100 MPa more at the case's gas load;
    tensile strength 300 MPa (derived)."""
    idle = np.array([150.0, 200.0, 350.0])[:, None, None] * np.array([1.0, 0.0, 0.0])[:, None]
    loads = np.array([0.0, 0.6, 0.8, 1.0, 1.25, 1.6])
    added = 100 * loads[:, None, None] * np.array([1.0, 0.0, 0.0])[:, None]
    place = Places(
        part="barrel", state="cold", temperature=np.array([20.0]),
        idle=idle[None], gas=(idle[:, None] + added)[None], by_distance=np.array([False]),
    )  # fmt: skip
    solved = Solved(
        fits=np.array([-1.0, 0.0, 1.0]), loads=loads, places=(place,), yielding=np.zeros((3, 6))
    )
    metal = replace(METAL, fatigue=None)
    judge_ = SimpleNamespace(materials={"barrel": metal}, wishes=Rating(), cycles=lambda _: 1e7)
    ones = np.ones(3)
    effects = {FIT_DRAWN: solved.fits, "strength of metal": ones, PRESSURE: ones}
    found = draw_limits(judge_, solved, effects)
    assert found[:2] == pytest.approx([1.5, 1.0], abs=3e-3)
    assert found[2] == 0


def test_a_draw_of_a_longer_critical_distance_stands_more():
    """Pull at the case's gas load of 200, 150 or 100 MPa by the length; 300 MPa break (derived)."""
    loads = np.array([0.0, 0.6, 0.8, 1.0, 1.25, 1.6])
    by_length = np.array([200.0, 150.0, 100.0])[:, None, None, None, None]
    gas = by_length * loads[:, None, None] * np.array([1.0, 0.0, 0.0])[:, None]
    place = Places(
        part="barrel",
        state="cold",
        temperature=np.array([20.0]),
        idle=0 * gas[:, :, 0],
        gas=gas,
        by_distance=np.array([True]),
    )
    solved = Solved(fits=np.zeros(1), loads=loads, places=(place,), yielding=np.zeros((1, 6)))
    assert solved.lengths == 3
    judge_ = SimpleNamespace(
        materials={"barrel": replace(METAL, fatigue=None)}, wishes=Rating(), cycles=lambda _: 1e7
    )
    drawn = np.array([-1.0, -0.5, 0.0, 1.0])
    effects = {LENGTH: drawn, "strength of metal": np.ones(4), PRESSURE: np.ones(4)}
    found = draw_limits(judge_, solved, effects)
    assert found == pytest.approx([1.5, 300 / 175, 2.0, 3.0], abs=3e-3)


def test_the_range_of_the_threshold_is_drawn_where_a_steep_place_counts(rated):
    """The mean over the least length is the largest; with nothing steep there is one length."""
    design, solved = rated.case.designs[0], rated.designs[0]
    life = life_of(rated.case, design, solved.mesh, gas_load(rated.case))
    rating = rating_of(solved)
    plain = Judge(rated.case, design, life.mesh)
    assert solve_around(plain, [life], rating.limit.factor).lengths == 1
    spot = rating.governing.spot
    steep = plain.with_steep([(spot.x_mm, spot.y_mm)])
    around = solve_around(steep, [life], rating.limit.factor)
    assert around.lengths == 3
    (place, *_) = (one for one in around.places if len(one.gas) == 3)
    moves = (place.gas[0] != place.gas[2]).any(axis=(0, 1, 2))
    least, usual, most = (
        principal(of[0, -1][:, moves])[0].max() for of in place.gas
    )  # at the largest gas load
    assert least > usual > most
    band, _ = band_of(
        steep, life, rating.limit.factor, lambda case, factor: (steep, life.at_gas(factor))
    )
    assert LENGTH in band.causes
