"""What a case may say of its head, and what is refused, each with how to mend it."""

import pytest
from bench import BARE, BLOCK, LINED

from cases.base.faults import CaseError
from cases.head import SUBJECT
from cases.head.given import head_given

BANK = BLOCK.replace("[block]\n", '[block]\nbores = 3\nfiring_bore = 2\npitch = "97 mm"\n')


def head(*lines, circle="126 mm"):
    return "\n".join(["[head]", 'bolt_preload = "25 kN"', f'bolt_circle = "{circle}"', *lines, ""])


@pytest.mark.parametrize(
    ("texts", "path", "words"),
    [
        pytest.param((head(circle="136 mm"),), "head.bolt_circle",
                     "The bolt at 1:30 of bore 1 stands outside the block, 1.0 mm beyond its outer "
                     "wall. A circle of 96 to 134 mm", id="outside the block"),
        pytest.param((head(circle="93 mm"),), "head.bolt_circle",
                     "The bolt at 1:30 of bore 1 stands 1.5 mm inside the wall of a barrel.",
                     id="in the barrel"),
        pytest.param((head("bolts = 2"),), "head.bolts", "2 bolts is outside 3 to 12",
                     id="two bolts"),
        pytest.param((head('bolt_clocks = ["1:30", "4:30"]'),), "head.bolt_clocks",
                     "2 different clock positions in 2 places. Give three or more",
                     id="two clocks"),
        pytest.param((head('bolt_clocks = ["1:30", "4:30", "7:00", "1:30"]'),), "head.bolt_clocks",
                     "3 different clock positions in 4 places", id="a bolt twice"),
        pytest.param((head("bolts = 3", 'bolt_clocks = ["1:30", "4:30", "8:00"]'),),
                     "head.bolt_clocks", "bolts is given too", id="number and places"),
        pytest.param((head().replace("25 kN", "25 N"),), "head.bolt_preload",
                     "0.025 kN is outside 1 to 500 kN", id="N for kN"),
        pytest.param((head('fire_ring_diameter = "82 mm"'),), "head.fire_ring_diameter",
                     "82 mm mean diameter and 3 mm width reaches into the bore. Give a mean "
                     "diameter of 83 to 93 mm", id="ring in the bore"),
        pytest.param((head('fire_ring_diameter = "94 mm"'),), "head.fire_ring_diameter",
                     "reaches over the barrel's wall. Give a mean diameter of 83 to 93 mm",
                     id="ring over the water"),
        pytest.param((head('fire_ring_width = "9 mm"'),), "head.fire_ring_width",
                     "The wall is 8 mm thick: give a narrower one.", id="ring wider than the wall"),
        pytest.param((head('fire_ring_share = "5 %"'),), "head.fire_ring_share",
                     "5 % is outside 10 % to 100 %: it is what of the clamp load", id="share"),
        pytest.param((head("gasket_friction = 1.5"),), "head.gasket_friction",
                     "less than or equal to 1", id="friction"),
        pytest.param((head('gasket_step = "3 mm"'),), "head.gasket_step",
                     "0.001 to 1 mm", id="a step that no gasket takes"),
        pytest.param((head('water_pressure = "2"'),), "head.water_pressure",
                     "The unit is missing", id="no unit"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_with_its_cure(case_of, texts, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, *texts, BARE)
    (fault,) = refused.value.faults
    assert fault.path == path
    assert words in fault.text


def test_a_plain_barrel_has_no_place_for_bolts(case_of):
    plain = BLOCK.replace('jacket = "10 mm"\nouter_wall = "9 mm"\n', "")
    with pytest.raises(
        CaseError, match="The bolts can't stand in this block: it is a plain barrel"
    ):
        case_of(plain, head(), BARE)


def test_a_bolt_beside_the_bank_is_told_by_its_bore(case_of):
    """A bore's bolts may stand off the bank, or in the wall of its neighbour."""
    text = head('bolt_clocks = ["6:00", "9:00", "12:00"]', circle="140 mm")
    with pytest.raises(CaseError, match="The bolt at 6:00 of bore 1 stands outside the block, 3"):
        case_of(BANK, text, BARE)
    text = head('bolt_clocks = ["3:00", "6:00", "12:00"]', circle="120 mm")
    with pytest.raises(CaseError, match="The bolt at 3:00 of bore 1 stands 11"):
        case_of(BANK, text, BARE)


def test_what_is_left_out_is_said_and_can_be_stated(case_of):
    case = case_of(LINED, head(), BARE)
    given = head_given(case)
    assert given.bolt_clocks == (1.5, 4.5, 7.5, 10.5)
    assert (given.fire_ring_diameter, given.fire_ring_width) == (84, 3)
    assert (given.fire_ring_share, given.gasket_friction, given.water_pressure) == (0.6, 0.15, 0.2)
    assert dict(given.assumed) == {
        "fire_ring_share": "fire ring under 60 % of the clamp load",
        "fire_ring_diameter": "fire ring of 84 mm", "fire_ring_width": "fire ring 3 mm wide",
        "gasket_friction": "friction 0.15 under the gasket", "water_pressure": "coolant at 2 bar",
        "gasket_step": "steps of up to 30 um under the gasket",
    }  # fmt: skip
    stated = head(
        'bolt_clocks = ["12:00", "4:00", "8:00"]', 'fire_ring_share = "55 %"',
        'fire_ring_diameter = "85 mm"', 'fire_ring_width = "2 mm"', "gasket_friction = 0.2",
        'water_pressure = "1 bar"', 'gasket_step = "20 um"',
    )  # fmt: skip
    given = head_given(case_of(LINED, stated, BARE))
    assert given.bolt_clocks == (0, 4, 8)
    assert given.assumed == ()
    assert given.gasket_step == pytest.approx(0.02)
    assert (given.fire_ring_share, given.gasket_friction, given.water_pressure) == (0.55, 0.2, 0.1)


def test_no_head_asks_for_nothing(case_of):
    case = case_of(BLOCK, BARE)
    assert head_given(case) is None
    assert not SUBJECT.asked(case, rate=True)
