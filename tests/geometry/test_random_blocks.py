"""Random blocks: each is solved and passes its self-checks, or is refused with a reason."""

import pytest
from hypothesis import given, settings
from random_blocks import MATERIALS, blocks, inserts, quiet

from fea import SectionModel, hot_spots, recover, self_checks
from geometry import DeckSection, SectionError, default_depth
from geometry.mesh import mesh_outline
from geometry.outline import draw_section


def solve_or_refuse(block, insert):
    try:
        section = DeckSection(block=block, depth=default_depth(block, 20), insert=insert)
        outline = draw_section(section)
    except SectionError as refusal:
        reason = str(refusal)
        outline = None
    if outline is None:
        assert len(reason) > 30
        assert reason.endswith(".")
        return "refused"
    mesh = mesh_outline(outline, element_size=8.0, fineness=1.3)
    line_load = 12.0 * section.depth
    solution = SectionModel(mesh, MATERIALS).solve(line_load)
    stresses = recover(solution)
    self_checks(solution, stresses, line_load)
    assert hot_spots(solution, stresses)[0].principal_mpa > 0
    return "solved"


@settings(quiet, max_examples=60)
@given(blocks, inserts)
def test_a_random_block_is_solved_or_refused(block, insert):
    solve_or_refuse(block, insert)


@pytest.mark.slow
@settings(quiet, max_examples=1000)
@given(blocks, inserts)
def test_a_thousand_random_blocks_are_solved_or_refused(block, insert):
    solve_or_refuse(block, insert)
