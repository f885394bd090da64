"""What a case says of a jacket with draft, where people read it."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from bench import BARE, BLOCK, RING, TIES

from cases.base.faults import CaseError
from cases.block.drafted import draft_assumed, draft_limits
from geometry import SectionError
from geometry.outline import draw_section

REGISTERED = """\
[[design]]
name = "machined"
depth = "8 mm"
material = "6061-T6"
[design.register]
depth = "8 mm"
ledge = "1 mm"
"""


def drafted(case_of, draft, *designs):
    return case_of(
        BLOCK.replace('jacket = "10 mm"\n', f'jacket = "10 mm"\ndraft = "{draft}"\n'),
        TIES, *designs,
    )  # fmt: skip


def drawn(case):
    """As the subject sees a solved case."""
    designs = [SimpleNamespace(name=one.name, section=case.section(one)) for one in case.designs]
    return SimpleNamespace(case=case, designs=designs)


def test_draft_makes_walls_thicker_in_the_section(case_of):
    """tan(1 deg) = 0.017455: half-way down 24 mm walls have 0.209 mm more, ties of 12 mm 0.209."""
    case = drafted(case_of, "1 deg", BARE)
    assert case.block.draft == 1.0
    block = case.section(case.designs[0]).mean_block
    assert block.barrel_wall == pytest.approx(8 + 0.20946, abs=1e-5)
    assert block.jacket == pytest.approx(10 - 0.41892, abs=1e-5)
    assert [tie.width for tie in block.ties] == pytest.approx([8.20946] * 2, abs=1e-5)
    assert block.draft == 0
    upright, leaning = (
        draw_section(replace(case.section(case.designs[0]), block=of))
        for of in (replace(case.block, draft=0.0), case.block)
    )
    assert leaning.part_area("barrel") > upright.part_area("barrel")
    assert leaning.open_area < upright.open_area


def test_inserts_without_a_register_are_cut_with_the_draft(case_of):
    """tan(2 deg) = 0.034921: 10 um a side bear over 0.29 mm, and 8 mm down is 0.28 mm off."""
    case = drafted(case_of, "2 deg", BARE, RING, REGISTERED)
    (line,) = draft_assumed(drawn(case))
    assert line[0] == 'design "ring", register'
    assert "with the jacket's draft of 2 deg" in line[1]
    assert "0.29 mm high with a press of 10 um a side, and stand off 0.28 mm" in line[1]
    (words,) = draft_limits(case)
    assert "draft of 2 deg" in words
    assert "0.42 mm more than at the deck" in words


def test_without_draft_nothing_is_assumed_of_it(case_of):
    case = drafted(case_of, "0 deg", BARE, RING)
    assert draft_assumed(drawn(case)) == draft_limits(case) == []
    machined = drafted(case_of, "0 deg", REGISTERED)
    assert draft_limits(machined) == [
        "Walls as cast stand upright in the section: no draft is stated."
    ]


@pytest.mark.parametrize(
    ("draft", "words"),
    [
        ("11 deg", "10 deg"),
        ("-1 deg", "0"),
        ("1 mm", "deg"),
        ("9.8 deg", "what fits at the deck doesn't .* There a fillet of 3 mm"),
    ],
)
def test_a_draft_that_can_not_be_is_refused(case_of, draft, words):
    def draws():
        case = drafted(case_of, draft, BARE)
        draw_section(case.section(case.designs[0]))

    with pytest.raises((CaseError, SectionError), match=words) as caught:
        draws()
    assert "draft" in str(caught.value)
