"""From ``[search]`` to the space that is looked through."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.base.faults import closest
from cases.case import Case
from cases.materials.reading import Materials
from cases.search.given import SearchInput
from cases.search.space import Choice, Number
from cases.search.table import ALL_ROUND, CLEAR, LIMIT, TAKEN, TEMPERATURE, SearchTable
from geometry import Insert
from geometry.clock import format_clock

LENGTH_STEP, FIT_STEP, ANGLE_STEP = 0.1, 0.5, 1.0
"""Steps of what is tried: what a shop sets on a machine. [mm], [um], [deg]."""
UM = 1000.0
MATERIAL = "6061-T6"
"""Of an insert that no design states."""
FRICTION = 0.15
"""Of an insert that no design states (common practice, no source)."""
DEPTHS = 0.035, 0.11
"""Least and most depth of an insert over the bore, where a case states none (common practice, no
source)."""
FITS = 0.15, 0.45
"""Least and most interference over the bore, where a case states none (common practice, no source).
[um/mm]."""


def read_search(table: Any, case: Case, faults: Faults) -> SearchInput | None:
    """What a case states of its search; None without ``[search]``.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    if table.search is None:
        return None
    return _Reader(table, case, faults).given()


class _Reader:
    """Makes the input of a search of its table."""

    def __init__(self, table: Any, case: Case, faults: Faults) -> None:
        self.table, self.case, self.faults = table, case, faults
        self.search: SearchTable = table.search
        self.chosen: list[str] = []

    def given(self) -> SearchInput:
        before = len(self.faults.found)
        like, insert = self._like()
        self._check_words()
        clocks = tuple(tuple(format_clock(of) for of in group.clocks) for group in self.search.zone)
        space = self._space(insert)
        if not space and len(self.faults.found) == before:
            if self._anything():
                self.faults.add(
                    ("search",),
                    "Nothing is free: each list has one word. Give bounds, such as depth = "
                    '{ least = "4 mm", most = "9 mm" }, or leave all of them out.',
                )
            else:
                space, clocks = self._usual(insert)
        return SearchInput(
            space=tuple(space), like=like, clocks=clocks, wanted=self._wanted(),
            least_open_water=self.search.least_open_water,
            least_passage_water=self.search.least_passage_water,
            most_out_of_round=None
            if self.search.most_out_of_round is None
            else UM * self.search.most_out_of_round,
            drops_in=self.search.drops_in, chosen=tuple(self.chosen),
        )  # fmt: skip

    def _like(self) -> tuple[str, Insert | None]:
        """Name of the design to begin with, and its insert; no name where there is none."""
        inserts = {of.name: of.insert for of in self.case.designs if of.insert is not None}
        name = self.search.like
        if name is None and inserts:
            name = list(inserts)[-1]
            if len(inserts) > 1:
                self.chosen.append(f'what is not free is as design "{name}" has it')
        elif name is None:
            self.chosen.append(f"pieces of {MATERIAL}")
        elif name not in inserts:
            near = closest(name, inserts)
            have = f" Choose from {', '.join(inserts)}." if inserts else " Leave it out."
            guess = f' Did you mean "{near}"?' if near else ""
            self.faults.add(
                ("search", "like"), f"No design with an insert has that name.{guess}{have}"
            )
        return name or "", inserts.get(name or "")

    def _check_words(self) -> None:
        """Numbers out of range, words twice, unknown materials, too few or too many wants."""
        self.faults.within(("search",), self.search)
        for name in ("wanted", "form", "hold", "material"):
            words = getattr(self.search, name)
            if words is not None and (not words or len(set(words)) < len(words)):
                self.faults.add(("search", name), "Give each of them once, and one at least.")
        if self.search.wanted is not None and not 2 <= len(self.search.wanted) <= 3:
            self.faults.add(("search", "wanted"), "Two or three can be weighed against each other.")
        materials = Materials(self.table.material, self.faults, 100.0)
        for place, name in enumerate(self.search.material or ()):
            materials.named(name, ("search", "material", place), "the insert")
        for place, group in enumerate(self.search.zone):
            if not group.clocks:
                self.faults.add(("search", "zone", place, "clocks"), "Give one position at least.")
            if group.depth is None:
                self.faults.add(
                    ("search", "zone", place),
                    "Its depth is missing. Give bounds, such as "
                    'depth = { least = "5 mm", most = "20 mm" }.',
                )

    def _wanted(self) -> tuple[str, ...]:
        if self.search.wanted is not None:
            return tuple(self.search.wanted)
        heated = self.table.heat is not None
        wanted = (LIMIT, TAKEN, *((TEMPERATURE,) if heated else ()))
        self.chosen.append(f"wanted: {', '.join(wanted)}")
        return wanted

    def _anything(self) -> bool:
        """Whether the case states anything that may be free."""
        free = ("form", "hold", "material", "depth", "width", "interference", "tie_left",
                "register_depth", "slot_width")  # fmt: skip
        return bool(self.search.zone) or any(getattr(self.search, of) is not None for of in free)

    def _space(self, insert: Insert | None) -> list[Number | Choice]:
        """What the case states that is free."""
        lengths = ("depth", "width", "tie_left", "register_depth", "slot_width")
        space: list[Number | Choice | None] = [
            self._number(("search", name), name, getattr(self.search, name)) for name in lengths
        ]
        space.append(self._number(("search", "interference"), "interference",
                                  self.search.interference, FIT_STEP, UM))  # fmt: skip
        for name in ("form", "hold", "material"):
            words: list[str] = getattr(self.search, name) or []
            if len(words) == 1:
                self.chosen.append(f"{name}: {words[0]}")
            space.append(Choice(name, tuple(words)) if words else None)
        if self.search.register_depth is not None and not (insert and insert.register):
            self._lacks("register_depth", "a register")
        if self.search.slot_width is not None and not (insert and insert.slots):
            self._lacks("slot_width", "water slots")
        if self.search.tie_left is not None and not self.case.block.ties:
            self.faults.add(("search", "tie_left"), "The block has no ties. Leave it out.")
        for at, group in enumerate(self.search.zone):
            where = ("search", "zone", at)
            mark = f" {at + 1}" if len(self.search.zone) > 1 else ""
            space.append(self._number((*where, "depth"), f"zone depth{mark}", group.depth))
            for name in ("width", "shift"):
                bounds = getattr(group, name)
                space.append(self._number((*where, name), f"zone {name}{mark}", bounds, ANGLE_STEP))
        found = [of for of in space if of is not None]
        return [] if all(isinstance(of, Choice) and len(of.options) == 1 for of in found) else found

    def _lacks(self, name: str, what: str) -> None:
        self.faults.add(
            ("search", name),
            f"The design to begin with has no {what.removeprefix('a ')}. Give it {what}, or leave "
            "this out.",
        )

    def _number(
        self, where: tuple, name: str, bounds: Any, step: float = LENGTH_STEP, times: float = 1.0
    ) -> Number | None:
        """A free number between its bounds; None where they are not given, or wrong."""
        if bounds is None:
            return None
        before = len(self.faults.found)
        self.faults.within(where, bounds)
        if len(self.faults.found) > before:
            return None
        least, most = times * bounds.least, times * bounds.most
        if most < least + step * (1 - 1e-6):
            self.faults.add(
                (*where, "most"),
                f"It has to be above least by {step:g} at the least, the step that is tried. Where "
                "it is not free leave the bounds out, and state it in the design to begin with."
                if most >= least
                else "It is below least: the two stand upside down.",
            )
            return None
        return Number(name, least, most, step)

    def _usual(
        self, insert: Insert | None
    ) -> tuple[list[Number | Choice], tuple[tuple[str, ...], ...]]:
        """What is free where the case doesn't say: depth, that behind the cuts, fit and hold."""
        block = self.case.block
        least, most = (round(share * block.bore, 1) for share in DEPTHS)
        low, high = (round(share * block.bore) for share in FITS)
        space: list[Number | Choice] = [
            Number("depth", least, most, LENGTH_STEP),
            Number("interference", float(low), float(high), FIT_STEP),
            Choice("hold", (CLEAR, ALL_ROUND) if block.ties else (ALL_ROUND,)),
        ]
        words = [f"depth {least:g} to {most:g} mm", f"interference {low:g} to {high:g} um"]
        if block.ties:
            words.append(f"held {CLEAR} or {ALL_ROUND}")
        else:
            space.pop()
        clocks: tuple[tuple[str, ...], ...] = ()
        if places := [of.clock for of in (insert.zones if insert else ())] or [
            of.clock for of in block.relief_cuts
        ]:
            deepest = max([of.depth for of in block.relief_cuts], default=2 * most)
            space.insert(1, Number("zone depth", least, round(deepest, 1), LENGTH_STEP))
            clocks = (tuple(format_clock(of) for of in dict.fromkeys(places)),)
            words.append(f"depth behind the cuts up to {deepest:g} mm ({', '.join(clocks[0])})")
        self.chosen.append(f"free: {', '.join(words)}")
        return space, clocks
