"""A peak pressure that no cylinder has."""

import pytest
from bench import BARE, BLOCK

from cases.base.faults import CaseError


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("120 Pa", id="Pa for bar"),
        pytest.param("120 MPa", id="MPa for bar"),
        pytest.param("1740 bar", id="bar for psi"),
    ],
)
def test_a_slip_of_a_unit_is_refused(case_of, text):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK.replace("120 bar", text), BARE)
    (fault,) = refused.value.faults
    assert fault.path == "gas.peak_pressure"
    assert "is outside 0.1 to 1000 bar" in fault.text
    assert "30 to 300 bar. Check the unit." in fault.text
