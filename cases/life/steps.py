"""The load steps of a life, and how much of the metal a step may stress beyond yield."""

from __future__ import annotations

from enum import StrEnum


class EngineState(StrEnum):
    """Whether the engine is warm; the value is what people see."""

    WARM = "warm"
    COLD = "cold"


class LoadStep(StrEnum):
    """One load step; the value is what people see.

    Attributes
    ----------
    engine : EngineState
    gas : bool
        Whether gas presses.
    """

    engine: EngineState
    gas: bool
    _before: str

    PRESSED = "pressed in", EngineState.COLD, False, ""
    HONED = "honed", EngineState.COLD, False, "PRESSED"
    WARM = "warm", EngineState.WARM, False, "HONED"
    WARM_GAS = "warm at gas", EngineState.WARM, True, "WARM"
    COLD_GAS = "cold at gas", EngineState.COLD, True, "HONED"

    def __new__(cls, words: str, engine: EngineState, gas: bool, before: str) -> LoadStep:
        """A step that starts from the one that is named ``before``, from nothing if empty."""
        step = str.__new__(cls, words)
        step._value_ = words
        step.engine, step.gas, step._before = engine, gas, before
        return step

    @property
    def before(self) -> LoadStep | None:
        """Step that this one starts from."""
        return LoadStep[self._before] if self._before else None

    @property
    def warm(self) -> bool:
        """Whether the engine is warm."""
        return self.engine is EngineState.WARM

    @property
    def in_use(self) -> bool:
        """Whether the engine is warm or at gas: what comes after press and hone."""
        return self.warm or self.gas

    @property
    def way(self) -> tuple[LoadStep, ...]:
        """The steps up to this one, each from the one before.

        Examples
        --------
        >>> [str(step) for step in LoadStep.WARM_GAS.way]
        ['pressed in', 'honed', 'warm', 'warm at gas']
        """
        return (*(self.before.way if self.before else ()), self)


PRESSED, HONED, WARM, WARM_GAS, COLD_GAS = LoadStep
"""In the order of life. What nothing is pressed into begins honed; without heat nothing is warm."""

GAS_CYCLES = ((WARM_GAS, WARM), (COLD_GAS, HONED))
"""Step at gas and the same with none, warm and cold: what metal goes through as a cylinder fires.
The hone changes the bore and no stress."""

TAIL = 0.002
"""Share of the metal's volume that may be stressed higher: peaks at edges of contact are small."""
