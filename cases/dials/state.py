"""All that the page must not lose: where its dials stand, the way back, what is kept."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from cases.dials.dial import Value, Values
from cases.dials.save import write_whole

MOST_COMPARED = 3
MOST_PAST = 200
"""Steps back that are kept."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Dials of a design."""

    design: str
    values: Mapping[str, Value] = field(default_factory=dict)  # those that have moved


@dataclass(frozen=True, slots=True)
class State:
    """Where the page stands.

    Attributes
    ----------
    now : Setting
    past : tuple of Setting
        The way back, the last one last.
    moving : str
        Key of the dial that moved last and has not rested since: more of its moves are one step.
    kept : mapping of str to Setting
        By name.
    compared : tuple of str
        Names of those that are shown beside it.
    good : str
        The text of the case file when it could last be read.
    """

    now: Setting
    past: tuple[Setting, ...] = ()
    moving: str = ""
    kept: Mapping[str, Setting] = field(default_factory=dict)
    compared: tuple[str, ...] = ()
    good: str = ""

    def moved(self, key: str, value: Value) -> State:
        """With a dial at a value."""
        if self.now.values.get(key) == value:
            return self
        now = Setting(self.now.design, {**self.now.values, key: value})
        if self.moving == key:
            return replace(self, now=now)
        return replace(self._behind(), now=now, moving=key)

    def at(self, now: Setting) -> State:
        """At another setting."""
        return self if now == self.now else replace(self._behind(), now=now, moving="")

    def rested(self) -> State:
        """The next move is a step of its own."""
        return replace(self, moving="")

    def undone(self) -> State:
        """A step back; as it is where there is none."""
        if not self.past:
            return self
        return replace(self, now=self.past[-1], past=self.past[:-1], moving="")

    def keeping(self, name: str) -> State:
        """With what it is now kept under a name, and compared.

        Raises
        ------
        ValueError
            In words, where the name won't do.
        """
        name = name.strip()
        if not name or len(name) > 40 or not name.isprintable():
            raise ValueError("Give it a name of 1 to 40 letters, such as deeper.")
        compared = tuple(of for of in self.compared if of != name)
        return replace(
            self, kept={**self.kept, name: self.now},
            compared=(*compared, name)[-MOST_COMPARED:], moving="",
        )  # fmt: skip

    def comparing(self, name: str, shown: bool) -> State:
        """With a kept one shown beside it, or not; the first makes room where there are three."""
        compared = tuple(of for of in self.compared if of != name)
        return replace(self, compared=(*compared, *((name,) if shown else ()))[-MOST_COMPARED:])

    def without(self, name: str) -> State:
        """With a kept one gone."""
        kept = {key: of for key, of in self.kept.items() if key != name}
        return replace(self.comparing(name, False), kept=kept)

    def saved(self, design: str, before: Values) -> State:
        """After the file got what it is now: all else goes on where it stood.

        Parameters
        ----------
        design : str
        before : mapping
            What the file had of the dials that it got anew.
        """

        def stays(of: Setting) -> Setting:
            return of if of.design != design else Setting(design, {**before, **of.values})

        return replace(
            self, past=(*map(stays, self.past), stays(self.now))[-MOST_PAST:], now=Setting(design),
            kept={name: stays(of) for name, of in self.kept.items()}, moving="",
        )  # fmt: skip

    def _behind(self) -> State:
        return replace(self, past=(*self.past, self.now)[-MOST_PAST:])


def state_path(case: Path) -> Path:
    """Where the state of a case is kept, beside it."""
    return case.with_name(f"{case.stem}.dials.json")


def write_state(state: State, case: Path) -> None:
    """Keep a state beside its case.

    Raises
    ------
    OSError
    """
    write_whole(state_path(case), json.dumps(asdict(state), indent=1) + "\n")


def read_state(case: Path) -> State | None:
    """The state that was kept of a case; None where there is none, or it can't be read."""
    try:
        raw = json.loads(state_path(case).read_text(encoding="utf-8"))
        return State(
            now=_setting(raw["now"]), past=tuple(map(_setting, raw["past"])), moving="",
            kept={str(name): _setting(of) for name, of in raw["kept"].items()},
            compared=tuple(map(str, raw["compared"])), good=str(raw["good"]),
        )  # fmt: skip
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return None


def _setting(raw: Any) -> Setting:
    values = {
        str(key): of if isinstance(of, str) else float(of) for key, of in raw["values"].items()
    }
    return Setting(str(raw["design"]), values)
