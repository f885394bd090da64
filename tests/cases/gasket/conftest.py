"""The bank of two gaskets, solved once."""

import pytest
from gaskets import write_case

from cases import read_case, solve_case

COARSE = '[section]\nmesh = "coarse"\ntolerance = "20 %"\n'


@pytest.fixture(scope="session")
def gasket_case(tmp_path_factory):
    """The bank with its two gaskets."""
    return read_case(write_case(tmp_path_factory.mktemp("gaskets"), COARSE))


@pytest.fixture(scope="session")
def solved(gasket_case):
    """Its sections, solved coarsely."""
    return solve_case(gasket_case)
