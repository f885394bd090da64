"""The library of metals has what heat needs."""

import pytest

from cases.base.checking import Faults
from cases.materials.reading import Materials, library_materials
from cases.subjects import case_table


@pytest.mark.parametrize("name", sorted(library_materials()))
def test_a_metal_of_the_library_expands_and_conducts(name):
    faults = Faults("a test", {}, case_table())
    metal = Materials({}, faults).named(name, ("block", "material"), "the block")
    assert metal.expansion > 0
    assert metal.conductivity > 0
    assert not faults.found
