"""A block so small that its section is solved in a second."""

import pytest
from bench import BARE, BLOCK, GAS, HEAT, TIES
from search_stubs import CUT, UNIFORM

TEXT = (
    BLOCK.replace(GAS, '[gas]\npeak_pressure = "120 bar"  # as measured\n')
    + f"{TIES}{CUT}{HEAT}[rating]\ndraws = 50\n{BARE}{UNIFORM}"
)


@pytest.fixture
def small(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path
