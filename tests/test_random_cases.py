"""Random case files: each block is drawn and meshed, or refused by a fault that says where."""

from collections import Counter

import pytest
from random_cases import text_of

from cases.base.faults import CaseError
from cases.read import read_case
from cases.stress.solve import START
from geometry import SectionError
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

CASES = 1000


def drawn(path, seed):
    """What becomes of a seed: its mesh's triangles, or what is told of it."""
    path.write_text(text_of(seed))
    try:
        case = read_case(path)
        outline = draw_section(case.section(case.designs[0]))
    except CaseError as refused:
        return [(fault.path, fault.text) for fault in refused.faults]
    except SectionError as refused:
        return [(refused.feature, str(refused))]
    return len(mesh_outline(outline, **START[case.mesh]).triangles)


@pytest.mark.slow
def test_a_thousand_random_cases_are_meshed_or_refused_in_words(tmp_path):
    kinds = Counter()
    for seed in range(CASES):
        found = drawn(tmp_path / "case.toml", seed)
        meshed = isinstance(found, int)
        kinds["meshed" if meshed else "refused"] += 1
        assert (
            found > 100
            if meshed
            else all(place and len(words) > 30 and words.endswith(".") for place, words in found)
        ), (seed, found)
    print(dict(kinds))
    assert min(kinds.values()) > 0.2 * CASES
