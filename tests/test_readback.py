"""What reads numbers back must itself be able to fail: other numbers, units, columns, keys."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from readback import (
    Mirror,
    Page,
    Quantity,
    fault_of_cell,
    fault_of_sentence,
    faults_of_json,
    faults_of_table,
    numbers_left,
    told,
)

PAGE = """
<h2 id="rooms">1. Rooms</h2><p>Peak of <b>12.5 bar</b> at 7:35 in 3 rooms.</p>
<table><caption>Rooms</caption><thead><tr><th>room</th><th>peak<br>[bar]</th></tr></thead>
<tbody><tr><td>hall</td><td>125</td></tr></tbody></table>
"""


@pytest.mark.parametrize(
    ("text", "wanted", "unit", "right"),
    [
        ("125", Quantity(12.5, "MPa"), "bar", True),
        ("12", Quantity(12.5, "MPa"), "bar", False),
        ("125", Quantity(12.5, "MPa"), "MPa", False),
        ("125", Quantity(12.5, "mm"), "bar", False),
        ("36,000", Quantity(35_700.0, "cycles", 2), "cycles", True),
        ("36,000", Quantity(35_700.0, "cycles"), "cycles", False),
        ("2.4 million", Quantity(2.4e6, "cycles", 2), "cycles", True),
        ("-12 %", Quantity(-0.123), "", True),
        ("12 %", Quantity(-0.123), "", False),
        ("1.5e-13", Quantity(1.46e-13), "", True),
        ("1.5e-13", Quantity(1.6e-13), "", False),
        ("\N{EN DASH}", Quantity(0.0, "mm"), "mm", False),
        ("0", None, "mm", False),
        ("12 \u00b1 3", [Quantity(12, "MPa"), Quantity(3, "MPa")], "MPa", True),
        ("3 \u00b1 12", [Quantity(12, "MPa"), Quantity(3, "MPa")], "MPa", False),
        ("86*", told("#", Quantity(86, "MPa")), "MPa", False),
    ],
)
def test_a_cell_is_right_or_wrong(text, wanted, unit, right):
    assert (fault_of_cell(text, wanted, unit) == "") is right


def test_a_table_is_read_by_its_headings():
    (table,) = Page(PAGE).tables
    assert (table.chapter, table.title) == ("rooms", "Rooms")
    right = {"room": "hall", "peak": Quantity(12.5, "MPa")}
    assert not faults_of_table(table, [right])
    assert faults_of_table(table, [right | {"peak": Quantity(13.0, "MPa")}])
    assert faults_of_table(table, [{"room": "hall"}])  # a column of no known source
    assert faults_of_table(table, [right | {"boost": None}])  # a column that is gone
    assert faults_of_table(table, [right, right])


def test_numbers_of_a_sentence_that_nothing_tells_of_are_left():
    heading, text, caption = Page(PAGE).prose["rooms"]
    assert (heading, caption) == ("1. Rooms", "Rooms")
    right = told("Peak of # at", Quantity(1.25, "MPa"))
    assert not fault_of_sentence(text, right)
    assert fault_of_sentence(text, told("Peak of # at", Quantity(12.5, "MPa")))
    assert numbers_left(text, [right]) == ["3"]  # a clock position is no number


@dataclass(frozen=True)
class Spot:
    size_mm: float
    share: float


def test_leaves_are_compared_in_the_unit_of_their_key():
    gap = {"gap_um": [1.0, 2.5]}
    assert not faults_of_json(gap, {"gap_um": Quantity(np.array([1e-3, 2.5e-3]), "mm")})
    assert faults_of_json(gap, {"gap_um": Quantity(np.array([1.0, 2.5]), "mm")})
    assert faults_of_json({"gap": 1.0}, {"gap": Quantity(1.0, "mm")})  # a key without its unit
    spot = {"size_mm": 2.0, "share": 0.5}
    assert not faults_of_json(spot, Mirror(Spot(2.0, 0.5)))
    assert faults_of_json(spot, Mirror(Spot(0.5, 2.0)))
    assert faults_of_json(spot | {"more": 1}, Mirror(Spot(2.0, 0.5)))  # a key of no known source
    assert faults_of_json({"size_mm": 2.0}, Mirror(Spot(2.0, 0.5)))
    assert faults_of_json({"shut": True}, {"shut": 1.0})
