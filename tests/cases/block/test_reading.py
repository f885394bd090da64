"""A block that can't be, and the order in which faults of a whole file are told."""

import pytest
from bench import BARE, BLOCK, FIT, HEAT, RING, TIES

from cases.base.faults import CaseError

OWN = '[material.m]\nyoungs_modulus = "70 GPa"\npoisson = 0.33\nsource = "a test"\n'


@pytest.mark.parametrize(
    ("old", "new", "path", "words"),
    [
        pytest.param("[gas]", 'pitch = "-97 mm"\n[gas]', "block.pitch", "-97 mm",
                     id="negative pitch of one bore"),
        pytest.param("[gas]", 'pitch = "0 mm"\n[gas]', "block.pitch", "0 mm",
                     id="no pitch of one bore"),
        pytest.param('"80 mm"', '"87 in"', "block.bore", "87 in is outside 0.3937 to 39.37 in",
                     id="inches for millimetres"),
        pytest.param('"80 mm"', '"80 cm"', "block.barrel_wall", "it is 1 % of the bore of 800 mm",
                     id="centimetres for millimetres"),
        pytest.param('"8 mm"', '"0.8 mm"', "block.barrel_wall", "at least 1.5 % is allowed",
                     id="wall of a tenth"),
        pytest.param("[gas]", 'crankcase_floor = "60 mm"\njacket_depth = "60 mm"\n[gas]',
                     "block.jacket_depth", "Give block.jacket_depth below 60 mm",
                     id="jacket as deep as the crankcase"),
        pytest.param("[gas]", 'crankcase_floor = "12 in"\njacket_depth = "13 in"\n[gas]',
                     "block.jacket_depth", "the jacket is 13 in deep",
                     id="jacket deeper than the crankcase"),
    ],
)  # fmt: skip
def test_wrong_block_is_refused(case_of, old, new, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK.replace(old, new, 1), BARE)
    faults = {fault.path: str(fault) for fault in refused.value.faults}
    assert words in faults[path]


@pytest.mark.parametrize(
    "texts",
    [
        pytest.param(("design", "heat", "crack", "material"), id="as in the report"),
        pytest.param(("material", "crack", "design", "heat"), id="another order"),
    ],
)
def test_all_faults_are_told_in_the_order_of_the_file(case_of, texts):
    """Of block, gas, fits, heat, crack and own metal at once."""
    wrong = {
        "design": RING.replace("6061-T6", "cheese") + FIT.replace("40 um", "40 mm"),
        "heat": HEAT.replace('"90 degC"', '"900 degC"').replace('"14 N"', '"0 N"'),
        "crack": '[crack]\npart = "liner"\nflaw = "0.01 mm"\ngas_in_crack = false\n',
        "material": OWN.replace('"70 GPa"', '"70 MPa"'),
    }
    told = {
        "design": ["design[1].material", "design[1].fit.interference"],
        "heat": ["heat.coolant_temperature", "piston_ring.tangential_force"],
        "crack": ["crack", "crack.part", "crack.flaw"],
        "material": ["material.m.youngs_modulus"],
    }
    block = BLOCK.replace('"A356-T6"', '"m"').replace('"120 bar"', '"120 MPa"')
    with pytest.raises(CaseError) as refused:
        case_of(block, TIES, *(wrong[text] for text in texts))
    found = [fault.path for fault in refused.value.faults]
    assert found == ["gas.peak_pressure", *(path for text in texts for path in told[text])]


def test_faults_of_the_schema_are_told_in_the_order_of_the_file(case_of):
    heat = HEAT.replace('"90 degC"', '"90"').replace("gas_film", "gas_fim")
    with pytest.raises(CaseError) as refused:
        case_of(heat, BLOCK.replace('"80 mm"', "80").replace('job = "bench block (invented)"', ""),
                RING.replace('depth = "8 mm"', "depth = 8"))  # fmt: skip
    found = [fault.path for fault in refused.value.faults]
    assert found == [
        "heat.gas_fim", "heat.coolant_temperature", "block.bore", "design[1].depth", "job",
    ]  # fmt: skip
