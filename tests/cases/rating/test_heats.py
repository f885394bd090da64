"""Heats between those that were solved, of loads as an engine gives them."""

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
import pytest

from cases import RunError
from cases.rating import heats
from cases.rating.heats import WIDE, Heats
from fea.heat import HeatError


@dataclass
class Warm:
    temperature: float

    def between(self, other, share):
        return Warm((1 - share) * self.temperature + share * other.temperature)


def degc(factor):
    """As walls get hotter: 200 degC under the asked load."""
    return 90 + 110 * factor**0.7


@pytest.fixture
def found(monkeypatch):
    """An engine that gives from 0.3 to 2.5 times the asked load; what was conducted."""
    asked = []

    def conducted(load):
        asked.append(load)
        return Warm(degc(load))

    monkeypatch.setattr(
        heats, "at_load", lambda _gas, factor: factor if 0.3 < factor < 2.5 else None
    )
    life = SimpleNamespace(warm=Warm(degc(0.9)), conducted=conducted)
    return Heats(None, {0.9: life}), asked


def test_between_two_heats_it_is_nearly_as_solved(found):
    heats_, asked = found
    for factor in np.geomspace(0.4, 1.9, 60):
        assert heats_.at(factor).temperature == pytest.approx(degc(factor), abs=1.5)
    assert all(one / WIDE == pytest.approx(before) for before, one in zip(
        sorted(asked), sorted(asked)[1:], strict=False
    ))  # fmt: skip
    assert 1.9 / WIDE <= max(asked) <= 1.9 * WIDE


def test_what_is_solved_is_solved_once_and_the_heat_of_the_limit_is_its_own(found):
    heats_, asked = found
    assert heats_.at(0.9).temperature == degc(0.9)
    assert not asked
    for factor in (1.2, 1.3, 1.1):
        heats_.at(factor)
    assert len(asked) == 2


def test_a_load_that_the_engine_cannot_give_has_the_heat_of_the_nearest_it_can(found):
    heats_, asked = found
    least, most = heats_.at(0.02).temperature, heats_.at(6.0).temperature
    assert degc(0.3) <= least <= degc(0.3 * WIDE)
    assert degc(0.9) <= most <= degc(2.5)
    assert heats_.at(0.02).temperature == least
    assert heats_.at(6.0).temperature == most
    assert heats_.at(2.2).temperature <= degc(2.2)
    assert max(asked) < 2.5


def test_heat_and_films_that_do_not_settle_are_told(found):
    heats_, _ = found

    def unsettled(_load):
        raise HeatError.of_films(3.0)

    heats_._lives[0.9].conducted = unsettled
    with pytest.raises(RunError, match="heat and its films do not settle"):
        heats_.at(1.3)
