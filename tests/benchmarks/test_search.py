"""What a search pays for a design: pytest tests/benchmarks/test_search.py --benchmark-only -n 0.

CPU time. ``share_of_first`` in the extra info: what a design costs whose fit, material or depth
alone is another, over what the first one did. Goal: 20 % or less.
"""

from time import process_time

import pytest
from bench import BARE, BLOCK, TIES
from search_stubs import CUT, HANDS, UNIFORM

from cases.base.toml import load_toml
from cases.search.coarse import judge_alike
from cases.search.evaluate import BARE as BARE_TABLE
from cases.search.evaluate import Task, bare_volume

pytestmark = pytest.mark.benchmark(timer=process_time)
CHANGES = {
    "fit": {"fit": {"interference": "24 um", "friction": 0.15, "ties": {"clearance": "50 um"}}},
    "material": {"material": "2618-T61"},
    "depth": {"depth": "6.5 mm"},
}


@pytest.fixture(scope="module")
def block(tmp_path_factory):
    path = tmp_path_factory.mktemp("case") / "case.toml"
    path.write_text(BLOCK + TIES + CUT + BARE + UNIFORM)
    raw = load_toml(path)
    first = Task(raw, path, raw.pop("design")[1])
    bare = bare_volume(HANDS, Task(raw, path, BARE_TABLE), "coarse")
    judge_alike(HANDS, [first], bare, {})  # loads what is loaded once
    return first, bare


@pytest.fixture(scope="module")
def first_seconds(block):
    first, bare = block
    return seconds(lambda: judge_alike(HANDS, [first], bare, {}))


def seconds(call):
    start = process_time()
    call()
    return process_time() - start


@pytest.mark.parametrize("change", CHANGES)
def test_another_design_after_the_first(benchmark, block, first_seconds, change):
    first, bare = block
    other = Task(first.raw, first.path, {**first.design, **CHANGES[change]})

    def both():
        if change == "fit":
            judge_alike(HANDS, [first, other], bare, {})
        else:
            judge_alike(HANDS, [first], bare, {})
            judge_alike(HANDS, [other], bare, {})

    benchmark.pedantic(both, rounds=1)
    benchmark.extra_info["first_seconds"] = first_seconds
    benchmark.extra_info["share_of_first"] = benchmark.stats.stats.min / first_seconds - 1
