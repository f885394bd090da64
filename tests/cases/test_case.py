"""The case file read into a block, its designs and their materials."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from cases import read_case
from cases.gas.solve import gas_load
from cases.materials.hot import hot_tables
from cases.materials.reading import library_materials
from fea.material import Fatigue, Material
from fea.strength import CAST_SCATTER, WROUGHT_SCATTER, basquin_exponent
from geometry import Block, DeeperZone, Insert, Register, ReliefCut, Tie, WaterSlot, default_depth

BUNDLED = Path(read_case.__code__.co_filename).parent / "library" / "hillclimb_four.toml"

INCHES = """\
job = "inch block (invented)"
[block]
bore = "3 1/2 in"
barrel_wall = "1/4 in"
jacket = "400 thou"
outer_wall = "0.3 in"
material = "319-T6"
[[tie]]
clock = "12:00"
width = "5/16 in"
depth = "1/2 in"
[gas]
peak_pressure = "1500 psi"
[[design]]
name = "ring"
depth = "3/8 in"
material = "7075-T6"
[[design]]
name = "bare"
"""


@pytest.fixture
def read(tmp_path):
    def read_text(text):
        path = tmp_path / "case.toml"
        path.write_text(text, encoding="utf-8")
        return read_case(path)

    return read_text


def test_every_key_arrives(read):
    case = read("""\
        job = "all keys (invented)"
        note = "one of each"
        [block]
        bore = "80 mm"
        liner = "2 mm"
        liner_material = "grey iron class 30"
        barrel_wall = "7 mm"
        wall_table = [["12:00", "7 mm"], ["4:00", "6.5 mm"], ["8:00", "7.25 mm"]]
        jacket = "10 mm"
        outer_wall = "8 mm"
        material = "my alloy"
        bores = 3
        pitch = "95 mm"
        firing_bore = 2
        valley_fillet = "2 mm"
        jacket_depth = "65 mm"
        crankcase_floor = "0.08 m"
        floor_radius = "1.5 mm"
        underside_radius = "2.5 mm"
        [[tie]]
        clock = "0:30"
        width = "8 mm"
        depth = "12 mm"
        fillet = "2.5 mm"
        bores = [1, 3]
        [[relief_cut]]
        clock = "1:45"
        radius = "57 mm"
        diameter = "18 mm"
        depth = "22 mm"
        bores = [2]
        [gas]
        peak_pressure = "120 bar"
        pressurised_depth = "20 mm"
        [section]
        depth = "30 mm"
        thinnest_wall = "1 mm"
        mesh = "fine"
        tolerance = "1.5 %"
        [[design]]
        name = "local"
        depth = "10 mm"
        width = "8 mm"
        material = "7075-T6"
        fills_relief_cuts = false
        form = "ring"
        [design.register]
        depth = "10 mm"
        barrel = "1 mm"
        outer_wall = "0 mm"
        corner_radius = "2.5 mm"
        ledge = "0.5 mm"
        [[design.zone]]
        clock = "1:30"
        width = "40 deg"
        depth = "18 mm"
        blend = "15 deg"
        [[design.slot]]
        clock = "5:30"
        width = "4 mm"
        arc = "12 deg"
        radius = "54 mm"
        bores = [1]
        [material."my alloy"]
        youngs_modulus = "70 GPa"
        poisson = 0.32
        source = "made up for this test"
        expansion = "22 um/(m K)"
        conductivity = "140 W/(m K)"
        yield_strength = "190 MPa"
        tensile_strength = "240 MPa"
        cast = true
        fatigue_strength = "80 MPa"
        fatigue_cycles = 100_000_000
        fatigue_scatter = "12 %"
        basquin_exponent = -0.1
        [[material."my alloy".hot]]
        temperature = "150 degC"
        yield_strength = "150 MPa"
        tensile_strength = "180 MPa"
        """)
    assert case.name == "all keys (invented)"
    assert case.note == "one of each"
    assert case.block == Block(
        bore=80, liner=2, barrel_wall=7, wall_table=((0, 7), (4, 6.5), (8, 7.25)), jacket=10,
        outer_wall=8, bores=3, pitch=95, firing_bore=2, valley_fillet=2,
        jacket_depth=65, crankcase_floor=80, floor_radius=1.5, underside_radius=2.5,
        ties=(Tie(clock=0.5, width=8, depth=12, fillet=2.5, bores=(1, 3)),),
        relief_cuts=(ReliefCut(clock=1.75, radius=57, diameter=18, depth=22, bores=(2,)),),
    )  # fmt: skip
    (design,) = case.designs
    assert design.insert == Insert(
        depth=10, width=8, fills_relief_cuts=False, form="ring",
        register=Register(depth=10, barrel=1, outer_wall=0, corner_radius=2.5, ledge=0.5),
        zones=(DeeperZone(clock=1.5, width=40, depth=18, blend=15),),
        slots=(WaterSlot(clock=5.5, width=4, arc=12, radius=54, bores=(1,)),),
    )  # fmt: skip
    assert (case.section_depth, case.thinnest_wall, case.mesh) == (30, 1, "fine")
    assert case.tolerance == 0.015
    load = gas_load(case)
    assert (load.peak_pressure, load.pressurised_depth, load.line_load) == (12, 20, 240)
    mine = Material(
        "my alloy", 70_000, 0.32, "made up for this test",
        expansion=22e-6, conductivity=0.14, yield_points=((20.0, 190.0), (150.0, 150.0)),
        tensile_points=((20.0, 240.0), (150.0, 180.0)),
        fatigue=Fatigue(80, 1e8, exponent=-0.1, scatter=0.12, threshold=(3.5, 5.0, 7.5)),
        cast=True,
    )  # fmt: skip
    materials = case.part_materials(design)
    assert all(materials[part] == mine for part in ("barrel", "tie", "outer wall"))
    assert materials["liner"].name == "grey iron class 30"
    assert materials["insert"].name == "7075-T6"
    section = case.section(design)
    assert (section.depth, section.insert, section.thinnest_wall) == (30, design.insert, 1)


def test_what_is_left_out_takes_the_default_of_the_geometry(read):
    case = read(INCHES)
    assert case.block.ties[0].fillet == Tie(clock=0, width=8, depth=12).fillet
    assert case.block.bores == 1
    assert "liner" not in case.materials
    assert case.mesh == "normal"
    assert case.tolerance == 0.02
    assert case.thinnest_wall == 1.5


def test_inches_and_millimetres_give_the_same_case(read):
    inches = read(INCHES)
    text = INCHES
    for old, new in {
        "3 1/2 in": "88.9 mm", "1/4 in": "6.35 mm", "400 thou": "10.16 mm", "0.3 in": "7.62 mm",
        "5/16 in": "7.9375 mm", "1/2 in": "12.7 mm", "3/8 in": "0.9525 cm",
        "1500 psi": "10.3421359398 MPa",
    }.items():  # fmt: skip
        text = text.replace(f'"{old}"', f'"{new}"')
    assert replace(read(text), spoken=inches.spoken) == inches


def test_bare_comes_first_and_may_be_missing(read):
    assert [design.name for design in read(INCHES).designs] == ["bare", "ring"]
    without = INCHES[: INCHES.rindex("[[design]]")]
    assert [design.name for design in read(without).designs] == ["ring"]


def test_default_depth_and_gas_depth(read):
    """H = 1.4 sqrt(R t), R = 47.625 and t = 6.35 mm; gas reaches all of it where that is said."""
    case = read(INCHES.replace('"1500 psi"', '"1500 psi"\npressurised_depth = "24.346 mm"'))
    assert case.section_depth == pytest.approx(1.4 * (47.625 * 6.35) ** 0.5, rel=1e-12)
    load = gas_load(case)
    assert load.line_load == load.peak_pressure * 24.346
    by_crank = gas_load(read(INCHES))
    assert by_crank.peak_pressure == load.peak_pressure
    assert by_crank.line_load < 0.6 * load.line_load


def test_all_designs_share_the_depth_of_the_deepest_insert(read):
    case = read(INCHES.replace('"3/8 in"', '"2 in"'))
    assert case.section_depth == 50.8
    assert {case.section(design).depth for design in case.designs} == {50.8}


def test_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbf" + INCHES.replace("\n", "\r\n").encode())
    assert read_case(path).name == "inch block (invented)"


def test_bundled_case_says_that_it_is_invented():
    case = read_case(BUNDLED)
    assert "invented" in case.name.lower()
    assert "invented" in case.note.lower()
    assert "not a real engine" in case.note.lower()


def test_bundled_case_is_the_block_that_it_should_be():
    """Inline four, 87 mm at 101 mm, ties off the quarters, two unlike relief cuts a bore."""
    case = read_case(BUNDLED)
    block = case.block
    assert (block.bores, block.bore, block.pitch) == (4, 87, 101)
    assert case.materials["liner"].name.startswith("ductile iron")
    assert any(tie.clock % 3 for tie in block.ties)
    first, second = block.relief_cuts
    assert first.clock != second.clock
    assert first.diameter != second.diameter
    for cut in block.relief_cuts:
        assert abs((cut.clock + 0.25) % 0.5 - 0.25) >= 11 / 60  # off whole and half hours
        assert 2.4 < cut.radius - cut.diameter / 2 - block.liner_radius < 4.5
    bare, uniform, local = case.designs
    assert [bare.name, uniform.name, local.name] == ["bare", "uniform", "local"]
    assert bare.insert is None
    assert local.insert is not None
    assert {zone.clock for zone in local.insert.zones} == {first.clock, second.clock}
    assert replace(local.insert, zones=()) == uniform.insert
    assert case.section_depth == default_depth(block)


@pytest.mark.parametrize("name", sorted(library_materials()))
def test_each_alloy_states_its_values_and_their_source(name):
    row = library_materials()[name]
    assert 60 < row["youngs_modulus_gpa"] < 220
    assert 0.2 < row["poisson"] < 0.4
    assert row["source"]
    assert row["how_sure"]
    strengths = [row[key] for key in ("proof_mpa", "tensile_mpa") if key in row]
    assert strengths == sorted(strengths)
    assert row["cast"] == ("cast" in row["description"])
    if "fatigue_mpa" in row:
        assert row["fatigue_mpa"] < row["tensile_mpa"]
        assert row["fatigue_cycles"] >= 1e7
        assert 0.05 < row["fatigue_scatter"] < 0.2
    assert 9 < row["expansion_1e6_per_k"] < 26
    assert 30 < row["conductivity_w_per_mk"] < 180
    assert row["hot"] in hot_tables()
    assert {*row["memory"]} <= {*row}
    shares = [share for _, share in row.get("modulus_share", [])]
    assert shares == sorted(shares, reverse=True)


def test_an_alloy_of_the_library_conducts_expands_and_softens(tmp_path):
    path = tmp_path / "grey.toml"
    text = BUNDLED.read_text(encoding="utf-8")
    path.write_text(text.replace("ductile iron 65-45-12", "grey iron class 30"), encoding="utf-8")
    materials = read_case(path).materials
    barrel, liner = materials["barrel"], materials["liner"]
    assert (barrel.name, liner.name) == ("A356-T6", "grey iron class 30")
    assert barrel.expansion == pytest.approx(21.5e-6)
    assert barrel.conductivity == pytest.approx(0.151)  # 151 W/(m K)
    assert barrel.stiffness_share([20.0, 150.0]) == pytest.approx([1.0, 0.93])
    # after 100 h, which the case states: 81 and 79 % of what is there at 20 degC
    assert barrel.yield_strength([20.0, 150.0]) == pytest.approx([207.0, 0.81 * 207.0])
    assert liner.stiffness_share(300.0) == 1
    assert barrel.tensile_strength([20.0, 150.0]) == pytest.approx([283.0, 0.79 * 283.0])
    assert barrel.fatigue is not None
    assert (barrel.fatigue.strength, barrel.fatigue.cycles) == (90, 5e8)
    assert barrel.cast
    assert "from memory" in barrel.source
    assert not liner.yield_points  # it breaks before it yields
    assert liner.tensile_strength(300.0) == pytest.approx(0.93 * 214)


def test_every_alloy_of_the_library_can_be_used(read):
    for name in library_materials():
        material = read(INCHES.replace("319-T6", name)).materials["barrel"]
        assert "memory" in material.source
        if material.fatigue:
            assert -0.15 < material.fatigue.exponent < -0.04


def test_what_fatigue_leaves_out_takes_the_usual(read):
    """The line from 0.9 of the tensile strength at 1000 cycles, and the scatter of its kind."""
    for cast, scatter in (("true", CAST_SCATTER), ("false", WROUGHT_SCATTER)):
        case = read(
            INCHES.replace("319-T6", "mine") + '[material.mine]\nyoungs_modulus = "70 GPa"\n'
            'poisson = 0.33\nsource = "made up"\ntensile_strength = "200 MPa"\n'
            f'cast = {cast}\nfatigue_strength = "60 MPa"\nfatigue_cycles = 1e7\n'
        )
        fatigue = case.materials["barrel"].fatigue
        line = basquin_exponent(200, 60, 1e7)
        assert fatigue == Fatigue(60, 1e7, line, scatter, (3.5, 5.0, 7.5))


def test_the_command_starts_without_heavy_imports():
    code = "import sys, cases.cli; print(*sorted(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    loaded = set(done.stdout.split())
    assert "click" in loaded
    assert not loaded & {"numpy", "pydantic", "rich", "gmsh", "skfem", "scipy", "matplotlib"}
