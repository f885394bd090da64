"""Wrong input: exit status 2, one clear message with the key path and the cure, nothing left."""

import os
import re
from pathlib import Path

import pytest
from bench import BARE, BLOCK, LINED, TIES
from click.testing import CliRunner

from cases.cli import main

GOOD = f"""\
{LINED.replace("56 mm", "55 mm")}
[[design]]
name = "bare"

[[design]]
name = "local"
material = "6061-T6"
depth = "10 mm"

[[design.zone]]
clock = "2:00"
width = "40 deg"
depth = "16 mm"
blend = "10 deg"

[[design.slot]]
clock = "4:00"
width = "4 mm"
arc = "20 deg"
"""

OWN_MATERIAL = """\
[material.m]
youngs_modulus = "70 GPa"
poisson = 0.3
source = ""
"""

HOT = '{ temperature = "150 degC", yield_strength = "150 MPa", tensile_strength = "180 MPa" }'
STRENGTHS = f"""\
{OWN_MATERIAL}\
yield_strength = "190 MPa"
tensile_strength = "240 MPa"
cast = true
fatigue_strength = "80 MPa"
fatigue_cycles = 1e8
hot = [{HOT}]
"""

# name: (text to replace, its replacement, key path, words of the message)
WRONG_LINES = {
    "missing unit": ('"80 mm"', '"80"', "block.bore", "unit is missing"),
    "bare number": ('"80 mm"', "80", "block.bore", "bare number"),
    "wrong unit": ('"7 mm"', '"7 bar"', "block.barrel_wall", '"bar" is not a unit'),
    "length for a pressure": ('"120 bar"', '"120 mm"', "gas.peak_pressure", "Pa, kPa, MPa"),
    "text for a number": ('"80 mm"', '"eighty mm"', "block.bore", "not a number"),
    "decimal comma": ('"7 mm"', '"7,5 mm"', "block.barrel_wall", "point, not a comma"),
    "nan": ('"7 mm"', '"nan mm"', "block.barrel_wall", "not a number"),
    "nan without quotes": ('"7 mm"', "nan", "block.barrel_wall", "bare number"),
    "infinite": ('"120 bar"', '"1e999 bar"', "gas.peak_pressure", "too large"),
    "true for a length": ('"7 mm"', "true", "block.barrel_wall", "not a length"),
    "date for a length": ('"7 mm"', "2001-01-01", "block.barrel_wall", "not a length"),
    "fraction of a millimetre": ('"7 mm"', '"7 1/2 mm"', "block.barrel_wall", "inches only"),
    "negative": ('"10 mm"\nouter', '"-10 mm"\nouter', "block.jacket", "outside 0 to 200 mm"),
    "bore too small": ('"80 mm"', '"8 mm"', "block.bore", "outside 10 to 1000 mm"),
    "negative pressure": (
        '"120 bar"',
        '"-120 bar"',
        "gas.peak_pressure",
        "outside 0.1 to 1000 bar",
    ),
    "pressure of another world": ('"120 bar"', '"12 GPa"', "gas.peak_pressure", "outside"),
    "a word for a number": (
        "[gas]",
        '[gas]\npressure_factor = "1.2"',
        "gas.pressure_factor",
        "It must be a plain number, without quotes. This is what detonation",
    ),
    "a fraction of a bore": (
        "[block]",
        "[block]\nbores = 1.5",
        "block.bores",
        "It must be a whole number, without quotes. This is the number of bores in line, such as 4",
    ),
    "unknown key": ("jacket =", "jackett =", "block.jackett", "Did you mean jacket?"),
    "unknown key of nothing": ("jacket =", "qqq =", "block.qqq", "Allowed here: bore"),
    "unknown table": ("[gas]", "[gass]\nx = 1\n[gas]", "gass", "Did you mean gas?"),
    "unknown key of a tie": (
        'clock = "12:00"',
        'filet = "3 mm"\nclock = "12:00"',
        "tie[1].filet",
        "Did you mean fillet?",
    ),
    "missing key": ('bore = "80 mm"\n', "", "block.bore", "missing"),
    "missing table": ('[gas]\npeak_pressure = "120 bar"\n', "", "gas", "missing"),
    "missing job": ('job = "bench block (invented)"', "", "job", "missing"),
    "empty job": ('"bench block (invented)"', '""', "job", "at least 1 character"),
    "single brackets": ("[[relief_cut]]", "[relief_cut]", "relief_cut", "[[relief_cut]]"),
    "double brackets": ("[gas]", "[[gas]]", "gas", "single brackets"),
    "bores as text": ("[gas]", 'bores = ["1"]\n[gas]', "relief_cut[1].bores[1]", "whole number"),
    "bore number that is none": (
        "[gas]",
        "bores = [2]\n[gas]",
        "relief_cut[1].bores",
        "from 1 to 1",
    ),
    "no such clock position": ('"2:15"\nradius', '"13:00"\nradius', "relief_cut[1].clock", "clock"),
    "clock without quotes": ('"2:15"\nradius', "2.5\nradius", "relief_cut[1].clock", "in quotes"),
    "clock minutes": ('"6:20"', '"6:75"', "tie[2].clock", "no clock position"),
    "fillet too large": (
        'clock = "12:00"',
        'clock = "12:00"\nfillet = "3 in"',
        "tie[1].fillet",
        "outside 0 to 1.9685 in",
    ),
    "unknown material": ('"A356-T6"', '"A365-T6"', "block.material", 'Did you mean "A356-T6"?'),
    "unknown insert material": ('"6061-T6"', '"cheese"', "design[2].material", "Known: A356-T6"),
    "no liner material": (
        'liner_material = "grey iron class 30"\n',
        "",
        "block.liner_material",
        "liner is missing",
    ),
    "liner material without a liner": (
        'liner = "2 mm"\n',
        "",
        "block.liner_material",
        "There is no liner",
    ),
    "own material too soft": (
        'material = "A356-T6"\n',
        'material = "m"\n' + OWN_MATERIAL.replace("70 GPa", "5 MPa"),
        "material.m.youngs_modulus",
        "1 to 1000 GPa",
    ),
    "own material that shrinks": (
        'material = "A356-T6"\n',
        'material = "m"\n' + OWN_MATERIAL + 'expansion = "-5 um/(m K)"\n',
        "material.m.expansion",
        "-5 um/(m K) is outside 0.1 to 100 um/(m K)",
    ),
    "own material that conducts too well": (
        'material = "A356-T6"\n',
        'material = "m"\n' + OWN_MATERIAL + 'conductivity = "151 W/(mm K)"\n',
        "material.m.conductivity",
        "151000 W/(m K) is outside",
    ),
    "own material that yields at once": (
        'material = "A356-T6"\n',
        'material = "m"\n' + OWN_MATERIAL + 'yield_strength = "0 MPa"\n',
        "material.m.yield_strength",
        "0 MPa is outside 1 to 5000 MPa",
    ),
    "own material that breaks at once": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("240 MPa", "0 MPa"),
        "material.m.tensile_strength",
        "0 MPa is outside 1 to 5000 MPa",
    ),
    "own material with a negative fatigue strength": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace('"80 MPa"', '"-80 MPa"'),
        "material.m.fatigue_strength",
        "-80 MPa is outside 1 to 5000 MPa",
    ),
    "own material that breaks before it yields": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("190 MPa", "250 MPa"),
        "material.m",
        "tensile strength of 240 MPa at 20 degC is below the yield strength of 250 MPa",
    ),
    "own material that breaks before it yields when hot": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("150 MPa", "185 MPa"),
        "material.m",
        "180 MPa at 150 degC is below the yield strength of 185 MPa",
    ),
    "own fatigue strength above the tensile strength": (
        'material = "A356-T6"\n',
        'material = "m"\n'
        + STRENGTHS.replace('"80 MPa"', '"240 MPa"')
        + "basquin_exponent = -0.1\n",
        "material.m",
        "fatigue strength of 240 MPa is not below the tensile strength of 240 MPa",
    ),
    "own fatigue strength too near the tensile strength": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace('"80 MPa"', '"220 MPa"'),
        "material.m",
        "220 MPa is not below 0.9 of the tensile strength, 216 MPa",
    ),
    "own fatigue strength for no number of cycles": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("fatigue_cycles = 1e8\n", ""),
        "material.m",
        "fatigue_strength is given without fatigue_cycles. Add it: the cycles that",
    ),
    "own fatigue strength without a tensile strength": (
        'material = "A356-T6"\n',
        'material = "m"\n' + OWN_MATERIAL + 'fatigue_strength = "80 MPa"\nfatigue_cycles = 1e8\n',
        "material.m",
        "fatigue_strength is given without tensile_strength. Add it: the ultimate",
    ),
    "own strength, cast or not": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("cast = true\n", ""),
        "material.m",
        "tensile_strength is given without cast. Add it: true where it is cast",
    ),
    "own slope without a strength": (
        'material = "A356-T6"\n',
        'material = "m"\n' + OWN_MATERIAL + "basquin_exponent = -0.1\n",
        "material.m",
        "basquin_exponent is given without fatigue_strength",
    ),
    "own slope that rises": (
        "[gas]",
        STRENGTHS + "basquin_exponent = 0.1\n[gas]",
        "material.m.basquin_exponent",
        "less than 0",
    ),
    "own strength for a handful of cycles": (
        "[gas]",
        STRENGTHS.replace("1e8", "100") + "[gas]",
        "material.m.fatigue_cycles",
        "greater than or equal to 10000",
    ),
    "own scatter as a bare number": (
        "[gas]",
        STRENGTHS + "fatigue_scatter = 0.1\n[gas]",
        "material.m.fatigue_scatter",
        "Allowed units: %",
    ),
    "own scatter too wide": (
        "[gas]",
        STRENGTHS + 'fatigue_scatter = "40 %"\n[gas]',
        "material.m.fatigue_scatter",
        "40 % is outside 0 % to 30 %",
    ),
    "own threshold as a bare number": (
        "[gas]",
        STRENGTHS + "threshold = 5\n[gas]",
        "material.m.threshold",
        "MPa sqrt(m)",
    ),
    "own threshold of a crack in glass": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS + 'threshold = "0.1 MPa sqrt(m)"\n',
        "material.m.threshold",
        "0.1 MPa sqrt(m) is outside 0.5 to 50 MPa sqrt(m)",
    ),
    "own strength of zero when hot": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("150 MPa", "0 MPa"),
        "material.m.hot[1].yield_strength",
        "0 MPa is outside 1 to 5000 MPa",
    ),
    "own strengths when hot in no order": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace("150 degC", "15 degC"),
        "material.m.hot[1].temperature",
        "15 degC is outside 20 to 3000 degC",
    ),
    "own strengths twice at one temperature": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace(HOT, f"{HOT}, {HOT}"),
        "material.m.hot[2].temperature",
        "150 degC is outside 150 to 3000 degC",
    ),
    "own strength known when hot alone": (
        'material = "A356-T6"\n',
        'material = "m"\n' + STRENGTHS.replace('yield_strength = "190 MPa"\n', ""),
        "material.m.hot[1]",
        "yield_strength is known here alone or not at all",
    ),
    "hot without a temperature": (
        "[gas]",
        STRENGTHS.replace('temperature = "150 degC", ', "") + "[gas]",
        "material.m.hot[1].temperature",
        "It is missing. This is the temperature",
    ),
    "hot with a wrong key": (
        "[gas]",
        STRENGTHS.replace("temperature =", "temprature =") + "[gas]",
        "material.m.hot[1].temprature",
        "Did you mean temperature?",
    ),
    "hot as a table": (
        "[gas]",
        OWN_MATERIAL + '[material.m.hot]\ntemperature = "150 degC"\n[gas]',
        "material.m.hot",
        "double brackets, [[material.m.hot]]",
    ),
    "own poisson": (
        "[gas]",
        OWN_MATERIAL.replace("0.3", "0.5") + "[gas]",
        "material.m.poisson",
        "less than 0.5",
    ),
    "own material named like a known one": (
        "[gas]",
        OWN_MATERIAL.replace("m]", '"6061-T6"]') + "[gas]",
        "material.6061-T6",
        "another name",
    ),
    "twin names": ('"local"', '"Bare"', "design[2].name", "a name of its own"),
    "bare with an insert": (
        'name = "bare"',
        'name = "bare"\ndepth = "3 mm"\nmaterial = "6061-T6"',
        "design[1].name",
        "without an insert",
    ),
    "design without a depth": ('depth = "10 mm"\n', "", "design[2]", "no depth"),
    "name with a slash": ('"local"', '"../local"', "design[2].name", "letters, digits"),
    "tolerance as a bare number": (
        'mesh = "coarse"',
        "tolerance = 0.02",
        "section.tolerance",
        "in quotes. Allowed units: %",
    ),
    "tolerance too tight": (
        'mesh = "coarse"',
        'tolerance = "0.1 %"',
        "section.tolerance",
        "0.1 % is outside 0.3 % to 20 %",
    ),
    "tolerance in millimetres": (
        'mesh = "coarse"',
        'tolerance = "2 mm"',
        "section.tolerance",
        "not a unit of a share",
    ),
    "unknown mesh": ('"coarse"', '"superfine"', "section.mesh", "'coarse', 'normal' or 'fine'"),
    "gas below the section": (
        "[section]",
        'pressurised_depth = "200 mm"\n[section]',
        "gas.pressurised_depth",
        "deeper section",
    ),
    "insert deeper than H": (
        "[section]",
        '[section]\ndepth = "14 mm"',
        "design[2].depth",
        "more than the section depth 14 mm",
    ),
    "zone round the clock and more": ('"40 deg"', '"359 deg"', "design[2].zone[1]", "whole circle"),
    "two walls are no table": (
        "[[tie]]",
        'wall_table = [["12:00", "7 mm"], ["6:00", "6 mm"]]\n[[tie]]',
        "block.wall_table",
        "at least three",
    ),
    "wall row too short": (
        "[[tie]]",
        'wall_table = [["12:00"]]\n[[tie]]',
        "block.wall_table[1][2]",
        "measured barrel walls",
    ),
    "bores without a pitch": ("[[tie]]", "bores = 4\n[[tie]]", "block.pitch", "needs a pitch"),
    "pitch under the bore": (
        "[[tie]]",
        'bores = 4\npitch = "70 mm"\n[[tie]]',
        "block.pitch",
        "above 84 mm",
    ),
    "relief cut into the bore": ('"55 mm"', '"48 mm"', "relief_cut[1]", "2:15"),
    "relief cut through the outer wall": ('"55 mm"', '"62 mm"', "relief_cut[1]", "2:15"),
    "metal too thin": ('"55 mm"', '"52 mm"', "relief_cut[1]", "1.5 mm"),
    "tie wider than its arc": (
        '"8 mm"\ndepth = "12 mm"\n[[relief',
        '"150 mm"\ndepth = "12 mm"\n[[relief',
        "tie[2]",
        "6:20",
    ),
    "two ties at one place": ('"6:20"', '"12:00"', "tie[", "12:00"),
    "slot outside the insert": (
        'width = "4 mm"\narc',
        'width = "30 mm"\narc',
        'design "local".slot[1]',
        "4:00",
    ),
    "insert without a jacket": (
        'jacket = "10 mm"\nouter_wall = "8 mm"\n',
        "",
        "block.jacket",
        "no jacket",
    ),
}

# name: (content of the file, words of the message)
WRONG_FILES = {
    "empty": (b"", "It is empty"),
    "blank": (b" \n\t\n", "It is empty"),
    "only a comment": (b"# nothing\n", "block"),
    "binary": (b"\x7fELF\x00\x01\x02", "not plain text"),
    "UTF-16": (GOOD.encode("utf-16"), "not plain text"),
    "latin-1": (GOOD.replace("bench", "b\xe4nk").encode("latin-1"), "line 1"),
    "huge": (b"# padding\n" * 200_000, "more than 1000 kB"),
    "syntax": (GOOD.replace('"80 mm"', "80 mm").encode(), "line 3, column 11"),
    "open quote": (GOOD.replace('"80 mm"', '"80 mm').encode(), "line 3"),
    "key twice": (GOOD.replace("[gas]", "[block]").encode(), "line 23"),
    "nested too deep": (b"a = " + b"[" * 100_000, "nested too deep"),
    "number of 5000 digits": (b"a = " + b"1" * 5000, "1 fault"),
    "JSON": (b'{"job": "x"}', "line 1"),
    "thousand unknown keys": (
        "".join(f"k{i} = {i}\n" for i in range(1000)).encode() + GOOD.encode(), "980 more",
    ),
}  # fmt: skip


def refusal(*arguments):
    """Message of a command that must be refused, without leaving anything behind."""
    before = sorted(Path.cwd().rglob("*"))
    done = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert done.exit_code == 2, done.output
    assert isinstance(done.exception, SystemExit)
    assert "Traceback" not in done.output
    assert done.stdout == ""
    assert done.stderr.count("Error: ") == 1
    assert sorted(Path.cwd().rglob("*")) == before
    return done.stderr


@pytest.fixture(autouse=True)
def _in_an_empty_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("fault", WRONG_LINES)
def test_wrong_line(fault):
    old, new, path, words = WRONG_LINES[fault]
    assert GOOD.count(old) >= 1
    Path("case.toml").write_text(GOOD.replace(old, new, 1))
    message = refusal("solve", "case.toml")
    assert "case.toml: " in message
    assert re.search(rf"^  {re.escape(path)}", message, re.MULTILINE), message
    assert words in message
    assert "pydantic" not in message
    assert re.search(r"\.$|\)$", message.strip())


@pytest.mark.parametrize("fault", WRONG_FILES)
def test_wrong_file(fault):
    content, words = WRONG_FILES[fault]
    Path("case.toml").write_bytes(content)
    message = refusal("solve", "case.toml")
    assert "case.toml: " in message
    assert words in message
    assert len(message) < 10_000


def test_all_faults_are_told_at_once():
    text = GOOD.replace('"80 mm"', "80").replace('"120 bar"', '"120"').replace("jacket", "jackt")
    Path("case.toml").write_text(text)
    message = refusal("solve", "case.toml")
    assert "case.toml: 3 faults." in message
    for path in ("block.bore = 80", 'gas.peak_pressure = "120"', "block.jackt = "):
        assert f"\n  {path}" in message


def test_a_fault_of_the_block_is_told_once_for_all_designs():
    Path("case.toml").write_text(GOOD.replace('"55 mm"', '"48 mm"'))
    message = refusal("solve", "case.toml")
    assert "case.toml: 1 fault." in message
    assert "This is so in design" not in message


def test_a_fault_of_a_material_is_told_once_for_all_parts():
    text = GOOD.replace('"A356-T6"', '"m"').replace('"6061-T6"', '"m"')
    Path("case.toml").write_text(text + STRENGTHS.replace("240 MPa", "0 MPa"))
    message = refusal("solve", "case.toml")
    assert "case.toml: 1 fault." in message
    assert "material.m.tensile_strength" in message


def test_a_fault_that_only_an_insert_brings_about_names_its_design():
    more = GOOD + '[[design]]\nname = "other"\nmaterial = "6061-T6"\ndepth = "8 mm"\n'
    Path("case.toml").write_text(more.replace('arc = "20 deg"', 'arc = "170 deg"'))
    message = refusal("solve", "case.toml")
    assert "case.toml: 1 fault." in message
    assert 'design "local".slot[1]' in message
    assert "other" not in message


@pytest.mark.parametrize(
    ("lines", "path", "words"),
    [
        ('depth = "12 mm"\nbarrel = "7 mm"', "register.barrel", "breaks through it"),
        ('depth = "12 mm"\ncorner_radius = "0.1 mm"', "register.corner_radius", "outside 0.5 to"),
        ('depth = "12 mm"\nledge = "1 mm"', "register.depth", "can't stand on a ledge 12 mm"),
        ('depth = "10 mm"\ncorner_radius = "9 mm"', "register.corner_radius", "10 mm: make"),
        ('depth = "10 mm"\nledge = "12 mm"', "register.ledge", "no narrower than the insert"),
    ],
)
def test_a_register_that_cannot_be_is_a_fault_of_its_own_key(lines, path, words):
    Path("case.toml").write_text(GOOD + f"\n[design.register]\n{lines}\n")
    message = refusal("solve", "case.toml")
    assert "case.toml: 1 fault." in message
    assert re.search(rf'design(\[2\]|\s"local")\.{path}', message)
    assert words in message


def test_missing_file():
    assert "There is no such file" in refusal("solve", "case.toml")


def test_folder_for_a_file():
    Path("case.toml").mkdir()
    assert "This is not a file" in refusal("solve", "case.toml")


def test_endless_device():
    assert "This is not a file" in refusal("solve", "/dev/zero")


def test_name_too_long():
    assert "can't be read" in refusal("solve", "x" * 300)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_file_without_the_right_to_read():
    Path("case.toml").write_text(GOOD)
    Path("case.toml").chmod(0)
    assert "can't be read" in refusal("solve", "case.toml")


@pytest.mark.parametrize("out", ["taken", "taken/below", "/proc/hoopclock/out", "x" * 300])
def test_out_folder_that_cant_be_written(out):
    Path("case.toml").write_text(GOOD)
    Path("taken").write_text("a file")
    message = refusal("solve", "case.toml", "--out", out)
    assert "--out" in message
    assert "Choose another" in message


def test_case_file_that_is_named_like_its_out_folder():
    Path("block").write_text(GOOD)
    assert "Choose another with --out" in refusal("solve", "block")


def test_demo_spares_a_changed_case():
    Path("mine").mkdir()
    Path("mine/case.toml").write_text(GOOD)
    assert "hoopclock solve mine/case.toml" in refusal("demo", "--out", "mine")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["slove", "case.toml"], "No such command 'slove'"),
        (["solve"], "Missing argument 'CASE.toml'"),
        (["solve", "case.toml", "--outt", "x"], "--out"),
    ],
)
def test_wrong_command_line(arguments, words):
    assert words in refusal(*arguments)


def test_at_least_forty_wrong_case_files():
    assert len(WRONG_LINES) + len(WRONG_FILES) >= 40


def test_faults_of_schema_subject_and_drawing_come_at_once(tmp_path, monkeypatch):
    """A key that is not known, a pull of no time, and two ties that run into each other."""
    monkeypatch.chdir(tmp_path)
    wrong = (BLOCK + TIES + BARE).replace("[section]", "[section]\ncolour = 3")
    wrong = wrong.replace('clock = "6:20"', 'clock = "12:10"')
    Path("case.toml").write_text(wrong + '[rating]\npull = "0 s"\n')
    message = refusal("rate", "case.toml")
    assert "case.toml: 3 faults." in message
    for path in ("section.colour = 3", 'rating.pull = "0 s"', "tie"):
        assert re.search(rf"^  {re.escape(path)}", message, re.MULTILINE), message


def test_what_is_wrong_by_itself_is_told_beside_a_fault_of_the_schema():
    """A bore with no unit; a peak out of its range; what hangs on the bore can't be known."""
    wrong = GOOD.replace('"80 mm"', '"80"')
    Path("case.toml").write_text(wrong)
    assert "case.toml: 1 fault." in refusal("solve", "case.toml")
    wrong = wrong.replace('"120 bar"', '"5000 bar"').replace('radius = "55 mm"', 'radius = "9 mm"')
    Path("case.toml").write_text(wrong + '[rating]\npull = "0 s"\n')
    message = refusal("rate", "case.toml")
    assert "case.toml: 3 faults." in message
    places = [message.index(f"\n  {path}") for path in ("block.bore", "gas.peak", "rating.pull")]
    assert places == sorted(places)


ALONE = {
    "block.barrel_wall": ('barrel_wall = "8 mm"', 'barrel_wall = "5000 mm"'),
    "block.material": ('material = "A356-T6"', 'material = "A356-T7"'),
    "rating.pull": ('name = "bare"', 'name = "bare"\n[rating]\npull = "0 s"'),
    "design[1].depth": ("[[design]]", '[[design]]\nname = "deep"\ndepth = "-3 mm"\n[[design]]'),
}
"""Key, and what of a sound case is made of what so that it is wrong by itself."""


@pytest.mark.parametrize("more", ["", "[section]\ncolour = 3", "[section]\nmesh = 5"])
def test_what_is_wrong_by_itself_is_told_at_once_though_no_block_can_be(more):
    """A block that can't be, a metal that is not known; beside a key that is not known, or not."""
    wrong = BLOCK + BARE
    for sound, other in ALONE.values():
        assert sound in wrong
        wrong = wrong.replace(sound, other, 1)
    if more:
        wrong = re.sub(r'\[section\]\nmesh = "coarse"', more, wrong)
    Path("case.toml").write_text(wrong)
    message = refusal("rate", "case.toml")
    told = re.findall(r"^  (\S+) = ", message, re.MULTILINE)
    assert set(ALONE) <= set(told)
    assert len(told) == len(ALONE) + bool(more)
