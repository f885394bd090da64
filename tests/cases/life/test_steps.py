"""The load steps: their words, what starts from what, what goes on as a cylinder fires."""

import json
import pickle

import pytest

from cases.life.steps import COLD_GAS, GAS_CYCLES, HONED, PRESSED, WARM, WARM_GAS, LoadStep


@pytest.mark.parametrize(
    ("step", "words", "engine", "gas", "before"),
    [
        (PRESSED, "pressed in", "cold", False, None),
        (HONED, "honed", "cold", False, PRESSED),
        (WARM, "warm", "warm", False, HONED),
        (WARM_GAS, "warm at gas", "warm", True, WARM),
        (COLD_GAS, "cold at gas", "cold", True, HONED),
    ],
)
def test_a_step_knows_its_engine_its_gas_and_what_it_starts_from(step, words, engine, gas, before):
    assert (str(step), step.engine, step.gas, step.before) == (words, engine, gas, before)
    assert step.warm == (engine == "warm")
    assert step.in_use == (step in (WARM, WARM_GAS, COLD_GAS))
    assert step.way[-1] is step
    assert step.way[0] is PRESSED


def test_cold_gas_does_not_come_after_heat():
    assert COLD_GAS.way == (PRESSED, HONED, COLD_GAS)


def test_a_cycle_has_the_same_engine_with_gas_and_without():
    for gas, idle in GAS_CYCLES:
        assert (gas.gas, idle.gas) == (True, False)
        assert gas.engine is idle.engine
        assert gas.before is idle


def test_steps_come_back_from_other_processes_and_are_words_in_files():
    assert [pickle.loads(pickle.dumps(step)) is step for step in LoadStep] == [True] * 5
    assert json.dumps({"step": WARM_GAS}) == '{"step": "warm at gas"}'
