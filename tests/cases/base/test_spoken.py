"""The units that a file speaks, and its refusals told in them."""

import re

import pytest
from bench import BARE, BLOCK, TIES

from cases import CaseError, read_case, solve_case
from cases.base.faults import Fault
from cases.base.spoken import METRIC, Spoken, refused_in, spoken_in

CUT = '[[relief_cut]]\nclock = "2:15"\nradius = "2 in"\ndiameter = "3 in"\ndepth = "1 in"\n'
INCH = Spoken(length="in", small="thou", pressure="psi", temperature="degF", power="hp")


def inches(text):
    """A case in mm, typed in inches."""
    return re.sub(r'"([\d.]+) mm"', lambda found: f'"{float(found[1]) / 25.4:.8g} in"', text)


@pytest.mark.parametrize(
    ("raw", "spoken"),
    [
        ({}, METRIC),
        (
            {"a": "3 1/2 in", "b": [{"c": "4 thou"}, {"c": "6 mm"}]},
            Spoken("in", "thou", "psi", "degF", "hp", "lbf"),
        ),
        (
            {"a": "3 1/2 in", "p": "9 bar", "t": "9 degC", "w": "9 kW", "f": "9 N"},
            Spoken("in", "thou"),
        ),
        ({"a": "3 mm", "b": "4 thou"}, METRIC),
        ({"p": ["1500 psi"], "t": "194 degF"}, Spoken(pressure="psi", temperature="degF")),
        ({"p": "340 hp", "q": {"r": "90 PS", "s": "10 hp"}}, Spoken(power="hp")),
        ({"note": "about 3 in of water, and so on", "clock": "12:00", "n": 4}, METRIC),
    ],
)
def test_a_file_speaks_what_it_has_most_of(raw, spoken):
    assert spoken_in(raw) == spoken


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("It is 25.4 mm.", "It is 1 in."),
        ("-0.0254 mm or 50.8 mm", "-0.001 in or 2 in"),
        ("5, 10 and 25.4 um", "0.19685, 0.3937 and 1 thou"),
        ("90 degC at 100 bar with 300 kW", "194 degF at 1450.4 psi with 402.31 hp"),
        ("25.4 mm2, 3 mm/cycle, M10 mm, 2 MPa", "25.4 mm2, 3 mm/cycle, M10 mm, 2 MPa"),
        ('write "25.4 mm" (25.4 mm)', 'write "25.4 mm" (1 in)'),
    ],
)
def test_a_sentence_in_other_units(said, told):
    """1 in is 25.4 mm and 1 bar 14.504 psi; 90 degC is 194 degF and 300 kW 402.3 hp."""
    assert INCH.text(said) == told
    assert METRIC.text(said) == said


def test_a_refusal_quotes_its_bound_as_the_value_was_typed():
    fault = Fault("tie[1].fillet", "It is outside 0 to 25.4 mm.", '"4000 thou"')
    with pytest.raises(CaseError, match=r"outside 0 to 1000 thou\.") as refused, refused_in(METRIC):
        raise CaseError("case.toml", [fault])
    assert refused.value.source == "case.toml"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('jacket = "', 'jacket = "99', "in is outside 0 to 7.874 in"),
        (
            "[gas]",
            f"{CUT}[gas]",
            " in",
        ),
    ],
)
def test_a_file_in_inches_is_refused_in_inches(tmp_path, old, new, said):
    path = tmp_path / "case.toml"
    path.write_text(inches(BLOCK + TIES + BARE).replace(old, new, 1))
    with pytest.raises(CaseError) as refused:
        solve_case(read_case(path))
    assert said in str(refused.value)
    assert " mm" not in str(refused.value)


def test_a_torque_is_told_with_the_forces_of_the_file():
    """1 lbf ft is 1.3558 N m (NIST SP 811, 2008, appendix B.8)."""
    assert Spoken(force="lbf").told("84 N m and 5 N") == "62 lbf ft and 1.1 lbf"
    assert Spoken().told("84 N m") == "84 N m"
