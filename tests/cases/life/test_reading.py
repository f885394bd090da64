"""Heat and fits that can't be: told in reading, or once the section is drawn; melted metal."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from bench import BARE, BLOCK, FIT, HEAT, RING, TIES
from sections import section

from cases.base.faults import CaseError, RunError
from cases.base.undersides import UNDERSIDES
from cases.life.given import Heat, InsertFit, SideFit, life_given
from cases.life.temperature import refuse_molten
from cases.life.ways_out import shut_in
from cases.run import solve_case
from fea.heat import Film, Films, HeatModel
from fea.material import Material
from geometry import Block, Insert, ReliefCut, Tie
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import carried, part_off

ONLY_HEAD = HEAT.replace("coolant", "head")
ONLY_OUTSIDE = HEAT.replace("coolant", "outside")
NO_JACKET = BLOCK.replace('jacket = "10 mm"\nouter_wall = "9 mm"\n', "")
LINER = 'liner = "2 mm"\nliner_material = "grey iron class 30"\nliner_interference = "{}"\n'
LINED = BLOCK.replace("[gas]", LINER.format("40 um") + "[gas]")
OWN = '[material.m]\nyoungs_modulus = "70 GPa"\npoisson = 0.33\nsource = "a test"\n'
OF_OWN = BLOCK.replace('"A356-T6"', '"m"')


def heat(old, new):
    assert old in HEAT
    return HEAT.replace(old, new)


def faults_of(error):
    return {fault.path: fault.text for fault in error.value.faults}


@pytest.mark.parametrize(
    ("texts", "path", "words"),
    [
        pytest.param((heat('"90 degC"', '"194 degC"'), BARE), "heat.coolant_temperature",
                     "194 degC is outside -60 to 160 degC. Check the unit", id="degF as degC"),
        pytest.param((heat('"90 degC"', '"90 K"'), BARE), "heat.coolant_temperature",
                     "-183.15 degC is outside", id="K for degC"),
        pytest.param((heat('"700 degC"', '"4000 degC"'), BARE), "heat.gas_temperature",
                     "4000 degC is outside -60 to 3000", id="gas too hot"),
        pytest.param((ONLY_HEAD.replace('"90 degC"', '"800 degC"'), BARE),
                     "heat.head_temperature", "800 degC is outside", id="head too hot"),
        pytest.param((ONLY_OUTSIDE.replace('"90 degC"', '"500 degC"'), BARE),
                     "heat.outside_temperature", "500 degC is outside", id="outside too hot"),
        pytest.param((heat('"5000 W/(m2 K)"', '"5000 kW/(m2 K)"'), BARE), "heat.coolant_film",
                     "5e+06 W/(m2 K) is outside", id="kW for W"),
        pytest.param((HEAT, RING, FIT.replace("40 um", "40 mm")), "design[1].fit.interference",
                     "40000 um is outside 0 to 2000 um", id="mm for um"),
        pytest.param((HEAT, RING, FIT.replace("40 um", "0.04 um")), "design[1].fit.interference",
                     "0.04 um is less than can be measured", id="um for mm"),
        pytest.param(
            (HEAT, RING, FIT + '[design.fit.ties]\nclearance = "0.1 um"\n'),
            "design[1].fit.ties.clearance", "less than can be measured", id="clearance, um for mm",
        ),
    ],
)  # fmt: skip
def test_a_slip_of_a_unit_is_refused(case_of, texts, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, *texts)
    assert words in faults_of(refused)[path]


def test_a_liner_with_a_slip_of_a_unit_is_refused(case_of):
    block = BLOCK.replace("[gas]", LINER.format("0.04 um") + "[gas]")
    with pytest.raises(CaseError) as refused:
        case_of(block, BARE)
    assert "less than can be measured" in faults_of(refused)["block.liner_interference"]


OF_LINER = 'liner = "2 mm"\nliner_material = "grey iron class 30"\n'


@pytest.mark.parametrize(
    ("liner", "path", "words"),
    [
        (OF_LINER + 'liner_joint = "pressed"\nliner_clearance = "20 um"\n', "block.liner_clearance",
         'does not go with liner_joint = "pressed". Leave it out, or say liner_joint = "slip".'),
        (OF_LINER + 'liner_joint = "slip"\nliner_interference = "20 um"\n',
         "block.liner_interference", 'or say liner_joint = "cast in" or "pressed".'),
        (OF_LINER + 'liner_clearance = "20 um"\n', "block.liner_clearance",
         'does not go with liner_joint = "cast in"'),
        (OF_LINER + 'liner_joint = "slip"\nliner_clearance = "0.1 um"\n', "block.liner_clearance",
         "less than can be measured"),
        ('liner_joint = "slip"\n', "block.liner_joint", "There is no liner"),
        ("liner_friction = 0.1\n", "block.liner_friction", "There is no liner"),
        (OF_LINER + 'liner_joint = "slip"\n', "heat", "Give liner_conductance, such as"),
        (OF_LINER + 'liner_joint = "glued"\n', "block.liner_joint", "pressed"),
    ],
)  # fmt: skip
def test_a_liner_that_can_not_be_is_told(case_of, liner, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK.replace("[gas]", liner + "[gas]"), HEAT, BARE)
    assert words in faults_of(refused)[path]


def test_a_clearance_of_the_liner_is_less_than_nothing(case_of):
    liner = OF_LINER + 'liner_joint = "slip"\nliner_clearance = "20 um"\nliner_friction = 0.1\n'
    given = life_given(case_of(BLOCK.replace("[gas]", liner + "[gas]"), BARE))
    assert given.liner_interference == pytest.approx(-0.02)
    assert (given.liner_joint, given.liner_friction, given.liner_opens) == ("slip", 0.1, True)
    unsaid = life_given(case_of(LINED, BARE))
    assert (unsaid.liner_joint, unsaid.liner_opens) == ("cast in", False)


@pytest.mark.parametrize(
    ("more", "missing"),
    [
        pytest.param("", ["expansion", "conductivity"], id="both"),
        pytest.param('expansion = "21 um/(m K)"\n', ["conductivity"], id="conductivity"),
        pytest.param('conductivity = "150 W/(m K)"\n', ["expansion"], id="expansion"),
    ],
)
def test_a_metal_that_lacks_what_heat_needs(case_of, more, missing):
    with pytest.raises(CaseError) as refused:
        case_of(OF_OWN, HEAT, OWN, more, BARE)
    texts = [fault.text for fault in refused.value.faults]
    assert [text.split()[0] for text in texts] == missing
    assert {fault.path for fault in refused.value.faults} == {"material.m"}
    assert "made of it (barrel, tie, outer wall) is heated." in texts[0]
    assert case_of(OF_OWN, OWN, more, BARE).materials["barrel"].name == "m"
    assert case_of(BLOCK, HEAT, OWN, more, BARE).materials["barrel"].name == "A356-T6"


def test_an_insert_that_lacks_what_heat_needs(case_of):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, HEAT, OWN, RING.replace("6061-T6", "m"), FIT)
    assert "made of it (insert) is heated." in faults_of(refused)["material.m"]


# --- ways out of heat ---


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        pytest.param((NO_JACKET, HEAT, BARE), ("heat of the barrel.", "has no water jacket"),
                     id="coolant without a jacket"),
        pytest.param((BLOCK, ONLY_OUTSIDE, BARE), ("heat of the barrel.", "outside_film"),
                     id="barrel that nothing ties"),
        pytest.param(
            (BLOCK, TIES, ONLY_OUTSIDE.replace('"6000 W', '"0 W'), RING, FIT),
            ("heat of the insert.", "joint_conductance of 0"), id="joint that is shut",
        ),
        pytest.param(
            (BLOCK, TIES, ONLY_OUTSIDE, RING, '[design.fit]\nclearance = "50 um"\n'),
            ("heat of the insert.", "a clearance"), id="clearance all around",
        ),
        pytest.param(
            (LINED, TIES, HEAT.replace("joint_conductance", "liner_conductance")
             .replace('"6000 W', '"0 W'), BARE),
            ("heat of the liner.", "liner_conductance above 0"), id="liner that is shut",
        ),
        pytest.param(
            (BLOCK, ONLY_OUTSIDE, BARE, RING, FIT),
            ("heat of the barrel.", "This is so in design bare."), id="one design of two",
        ),
    ],
)  # fmt: skip
def test_heat_without_a_way_out_is_refused_before_any_mesh(case_of, texts, words):
    told = []
    with pytest.raises(CaseError) as refused:
        solve_case(case_of(*texts), lambda name, step: told.append(step))
    assert set(told) == {"draw"}
    (fault,) = refused.value.faults
    assert fault.path == "heat"
    for word in words:
        assert word in fault.text


TIE = Tie(clock=12, width=8, depth=12)
OPEN = Block(bore=80, liner=3, barrel_wall=8, jacket=10, outer_wall=9)
PLAIN = Block(bore=80, liner=3, barrel_wall=20)
CUT = ReliefCut(clock=2.25, radius=55, diameter=8, depth=12)
FILM = (5e-3, 90.0)
FITTED = InsertFit(
    sides=dict.fromkeys(("barrel", "outer wall", "tie"), SideFit(interference=0.01)),
    pressed=("barrel",),
)


@pytest.mark.parametrize(
    ("drawn", "tried", "expected"),
    [
        pytest.param(
            section(replace(OPEN, ties=(TIE,)), Insert(depth=8), depth=24),
            [(0.0, 0.0, "outside"), (0.0, 1e-2, "coolant"), (None, 0.0, "coolant")],
            [("insert", "liner"), (), ("liner",)],
            id="tied",
        ),
        pytest.param(
            section(OPEN, Insert(depth=8, width=4), depth=24),
            [(None, None, "outside"), (0.0, 1e-2, "outside"), (6e-3, 0.0, "coolant")],
            [("barrel", "insert", "liner"), ("liner",)],
            id="narrow insert",
        ),
        pytest.param(
            section(OPEN, Insert(depth=8), depth=24),
            [(6e-3, 1e-2, "outside"), (0.0, None, "outside"), (0.0, None, "head")],
            [(), ("barrel", "insert", "liner")],
            id="insert that bridges",
        ),
        pytest.param(
            section(replace(PLAIN, relief_cuts=(CUT,)), depth=24),
            [(None, None, "coolant"), (None, 0.0, "head"), (None, 0.0, "coolant")],
            [(), ("liner",)],
            id="relief cut",
        ),
        pytest.param(
            section(PLAIN, depth=24),
            [(None, 1e-2, "coolant"), (None, 0.0, "outside")],
            [("barrel", "liner"), ("liner",)],
            id="no jacket",
        ),
    ],
)
def test_the_outline_tells_what_the_mesh_tells(drawn, tried, expected):
    """Conductances of the joints and the one film, by outline and by mesh alike."""
    metal = Material("m", 70e3, 0.3, expansion=2e-5, conductivity=0.15)
    metals = dict.fromkeys(("barrel", "tie", "outer wall", "liner", "insert"), metal)
    outline = draw_section(drawn)
    whole = mesh_outline(outline)
    found = set()
    for joint, liner, film in tried:
        mesh, cuts, conductances = whole, [], {}
        if joint is not None:
            parted = part_off(mesh, "insert")
            mesh, cuts, conductances = parted.mesh, [parted.joint], {"insert": joint}
        if liner is not None:
            cut = part_off(mesh, "liner")
            mesh, cuts = cut.mesh, [*(carried(one, cut) for one in cuts), cut.joint]
            conductances["liner"] = liner
        stated = {film: FILM}
        heat = Heat(
            gas=(2.5e-4, 700.0), joint_conductance=joint, liner_conductance=liner, **stated
        )  # fmt: skip
        films = Films(
            gas=Film(2.5e-4, 700.0), joints=conductances, undersides=UNDERSIDES,
            **{key: Film(*of) for key, of in stated.items()},
        )  # fmt: skip
        shut = shut_in(outline, drawn.depth, heat, None if joint is None else FITTED)
        found.add(shut)
        model = HeatModel(mesh, metals, films, cuts)
        if shut:
            with pytest.raises(ValueError, match=f"for the heat of the {', '.join(shut)}\\."):
                model.solve()
        else:
            assert model.solve().heat
    assert found == set(expected)


# --- temperature ---


def refused(degrees, modulus):
    """Of a barrel that is so hot at its hottest."""
    place = SimpleNamespace(temperature_degc=degrees, clock="3:00")
    regions = [[SimpleNamespace(part="barrel")]]
    field = SimpleNamespace(mesh=SimpleNamespace(regions=regions), hottest=lambda part: place)
    refuse_molten("bare", field, {"barrel": Material("m", modulus, 0.3)})


def test_metal_that_would_have_melted_is_no_result():
    """Eutectic of aluminium and silicon 577 degC, less with copper and magnesium; of iron and
    carbon 1147 degC (from memory)."""
    refused(540, 72e3)
    with pytest.raises(RunError, match=r'design "bare", heat: the barrel of m would be at 577'):
        refused(577, 72e3)
    refused(577, 110e3)
    with pytest.raises(RunError, match="iron begins to melt"):
        refused(1147, 110e3)


def test_a_block_that_would_melt_is_no_result(case_of):
    weak = HEAT.replace('"5000 W', '"5 W')
    with pytest.raises(RunError, match=r"aluminium begins to melt.*too little coolant_film"):
        solve_case(case_of(BLOCK, TIES, weak, BARE))
    warm = HEAT.replace('"250 W', '"1500 W').replace("700 degC", "1000 degC")
    (design,) = solve_case(case_of(BLOCK, TIES, warm, BARE)).designs
    service = design.found["life"]
    hottest = max(service.heat.temperature)
    assert 300 < hottest < 555
    (flag,) = (flag for flag in service.flags if flag.kind == "metal")
    assert f"the barrel is at {hottest:.0f} degC" in flag.words
