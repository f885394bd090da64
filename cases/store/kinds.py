"""What a line of the record may say: its kinds, their fields, how each is typed and read."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from cases.base.faults import Fault, closest
from cases.base.units import (
    DURATION,
    FORCE,
    LENGTH,
    POWER,
    PRESSURE,
    SPEED,
    TEMPERATURE,
    Quantity,
    parse_quantity,
)

Value = float | int | str
MOST_BORES = 16
LONGEST = 2000  # of a text [characters]
STAGES = ("before press", "after press", "after hone")
SIDES = ("barrel", "outer wall", "tie")
SOUND, CRACK, LEAK, LOOSE = FOUND = ("sound", "crack", "leak", "loose")
TIGHT = "tight"
KNOWN = "known"


@dataclass(frozen=True, slots=True)
class Said:
    """A value as it was typed, and what it is in inside units."""

    typed: str
    inside: Value


def inside_of(said: Mapping[str, Said]) -> dict[str, Value]:
    """Values in inside units, by field."""
    return {name: value.inside for name, value in said.items()}


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a line.

    Attributes
    ----------
    what : str
        What it is, without a full stop.
    example : str
        As it may be typed.
    read : callable
        Text to value in inside units; raises ValueError with what is allowed.
    needed : bool
        Whether a line can't be without it.
    quantity : Quantity or None
        What it measures, if it carries a unit.
    """

    what: str
    example: str
    read: Callable[[str], Value]
    needed: bool = False
    quantity: Quantity | None = None

    @property
    def unit(self) -> str:
        """Of the value inside; empty where it has none."""
        return self.quantity.inside if self.quantity else ""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of line."""

    name: str
    what: str
    fields: Mapping[str, Field]
    measured: bool = False  # needs an instrument
    rule: Callable[[Mapping[str, Said]], Iterable[tuple[str, str]]] | None = None
    """Field and text of each thing that is wrong with values that are sound one by one."""


def _measure(quantity: Quantity, least: float, most: float, unit: str) -> Callable[[str], float]:
    def read(text: str) -> float:
        value = parse_quantity(text, quantity)
        if not least <= quantity.written(value, unit) <= most:
            raise ValueError(
                f"{quantity.written(value, unit):g} {unit} is outside {least:g} to {most:g} {unit}."
                " Check number and unit."
            )
        return value

    return read


def _of(
    quantity: Quantity,
    what: str,
    example: str,
    span: tuple[float, float, str],
    needed: bool = False,
) -> Field:
    return Field(what, example, _measure(quantity, *span), needed, quantity)


def _whole(what: str, example: str, least: int, most: int, needed: bool = False) -> Field:
    def read(text: str) -> int:
        try:
            value = int(text)
        except ValueError:
            raise ValueError(f"This is no whole number. Write it like {example}.") from None
        if not least <= value <= most:
            raise ValueError(f"{value} is outside {least} to {most}.")
        return value

    return Field(what, example, read, needed)


def _count(what: str, example: str, most: float) -> Field:
    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not 0 < value <= most:
            raise ValueError(f"This must be a number above 0, up to {most:g}, like {example}.")
        return value

    return Field(what, example, read)


def _one_of(what: str, choices: tuple[str, ...], needed: bool = True) -> Field:
    def read(text: str) -> str:
        plain = " ".join(text.lower().split())
        if plain not in choices:
            near = closest(plain, choices)
            guess = f" Did you mean {near}?" if near else ""
            raise ValueError(f"It is none of {', '.join(choices)}.{guess}")
        return plain

    return Field(f"{what}: {', '.join(choices)}", choices[0], read, needed)


def _text(what: str, example: str, needed: bool = False) -> Field:
    def read(text: str) -> str:
        if len(text) > LONGEST:
            raise ValueError(f"It has {len(text)} characters; {LONGEST} are kept at most.")
        return text

    return Field(what, example, read, needed)


def _clock(text: str) -> float:
    from geometry.clock import parse_clock

    return parse_clock(text)


BORE = _whole("the bore, from 1", "2", 1, MOST_BORES)
CLOCK = Field("the clock position", "1:30", _clock)
DEPTH = _of(LENGTH, "the depth below the deck", "5 mm", (0, 500, "mm"))
DIAMETERS = (20, 300, "mm")
PEAK = (1, 500, "bar")
TEMPERATURES = (-200, 400, "degC")
FITS = (0.5, 500, "mm")
CUTTERS = (0.5, 100, "mm")
DEPTHS = (0.1, 500, "mm")
HOURS = (0, 1e6, "h")


def _needed(field: Field) -> Field:
    return Field(field.what, field.example, field.read, True, field.quantity)


def _predicted(said: Mapping[str, Said]) -> Iterable[tuple[str, str]]:
    limits = [name for name in ("low", "limit", "high") if name in said]
    if limits and len(limits) < 3:
        yield limits[0], "low, limit and high go together: what 5, 50 and 95 % stay below."
    elif limits:
        low, middle, high = (float(said[name].inside) for name in ("low", "limit", "high"))
        if not low < middle < high:
            yield "limit", "low, limit and high must rise: what 5, 50 and 95 % stay below."


def _pieces(said: Mapping[str, Said]) -> Iterable[tuple[str, str]]:
    fit = interference_of(said)
    if abs(fit) > 2.0:
        yield (
            "insert",
            f"It differs from the pocket by {fit:+.3f} mm; a fit is 2 mm at most. Check number "
            "and unit of both.",
        )


def interference_of(said: Mapping[str, Said]) -> float:
    """Of a piece, on the diameter or on both ends together; negative is clearance. [mm]."""
    fit = float(said["insert"].inside) - float(said["pocket"].inside)
    return float(f"{fit:.9f}")  # what two sizes typed to a micron can tell


def _load(said: Mapping[str, Said]) -> Iterable[tuple[str, str]]:
    if ("peak" in said) == ("power" in said):
        yield "peak", "Give the load either as peak, a pressure, or as power."
    if cycles_of(said) is None:
        yield (
            "hours",
            "How long is not told. Give cycles, or speed with hours at that load, or speed with "
            "pulls and pull, how long one lasts.",
        )


def cycles_of(said: Mapping[str, Said]) -> float | None:
    """Working cycles at the load of a run, of a four-stroke engine; None where they can't be told.

    Pulls, where stated, say how long the load was on; hours are the engine's then.
    """

    def value(name: str) -> float | None:
        return float(said[name].inside) if name in said else None

    cycles, hours, speed = value("cycles"), value("hours"), value("speed")
    pulls, pull = value("pulls"), value("pull")
    if cycles is not None:
        return cycles
    if speed is None:
        return None
    if pulls is not None:
        return None if pull is None else pulls * pull * speed / 120
    return None if hours is None else hours * speed / 120


def _crack(said: Mapping[str, Said]) -> Iterable[tuple[str, str]]:
    found = said["found"].inside
    if found == CRACK and "bore" not in said:
        yield "bore", "A crack needs the bore that it is at."
    if found == SOUND and "moment" in said:
        yield "moment", "It is for what failed."


def _least_first(
    least: str, most: str
) -> Callable[[Mapping[str, Said]], Iterable[tuple[str, str]]]:
    def rule(said: Mapping[str, Said]) -> Iterable[tuple[str, str]]:
        if least in said and most in said and float(said[most].inside) < float(said[least].inside):
            yield most, f"It is less than {least}, {said[least].typed}. Change them about."

    return rule


KINDS = {
    kind.name: kind
    for kind in (
        Kind(
            "block",
            "the block that is worked on",
            {
                "block": _text("the block's own number", "B-0417", needed=True),
                "casting": _text("the number cast into it", "C 12"),
                "bores": _whole("how many bores", "4", 1, MOST_BORES),
            },
        ),
        Kind(
            "case",
            "the case file that the job is made by, kept whole",
            {"file": _text("path of the case file", "case.toml", needed=True)},
        ),
        Kind(
            "design",
            "the design made, and the limit that was predicted of it",
            {
                "design": _text("its name in the case", "local", needed=True),
                "results": _text("path of the results.json or rated.json of its rating", ""),
                "limit": _of(PRESSURE, "the peak that half the draws carry", "150 bar", PEAK),
                "low": _of(PRESSURE, "the peak that 95 % of the draws carry", "120 bar", PEAK),
                "high": _of(PRESSURE, "the peak that 5 % of the draws carry", "185 bar", PEAK),
                "limit_cycles": _count("cycles that the limit is for", "1e7", 1e12),
            },
            rule=_predicted,
        ),
        Kind(
            "reading",
            "a wall before anything is cut",
            {
                "bore": _needed(BORE),
                "clock": _needed(CLOCK),
                "depth": _needed(DEPTH),
                "wall": _of(LENGTH, "the wall", "5.62 mm", (0.3, 40, "mm"), needed=True),
                "method": _text("how it was measured", "ultrasound"),
                "error": _of(LENGTH, "standard, of this one", "0.05 mm", (0.001, 5, "mm")),
                "liner": _one_of("where it stood then", ("in", "out"), False),
            },
            measured=True,
        ),
        Kind(
            "cut",
            "what was cut into the block for the insert, as found",
            {
                "cutter": _of(LENGTH, "diameter of the cutter", "6.00 mm", CUTTERS, needed=True),
                "least_depth": _of(LENGTH, "where it is least", "6.01 mm", DEPTHS, needed=True),
                "most_depth": _of(LENGTH, "where it is largest", "6.04 mm", DEPTHS),
                "least_wall": _of(LENGTH, "the least wall left", "4.10 mm", (0.3, 40, "mm")),
                "bore": BORE,
                "clock": CLOCK,
            },
            measured=True,
            rule=_least_first("least_depth", "most_depth"),
        ),
        Kind(
            "main bores",
            "the bores of the crankshaft, all of them, before and after the press",
            {
                "stage": _one_of("when", STAGES),
                "least": _of(LENGTH, "least diameter", "60.002 mm", DIAMETERS, needed=True),
                "most": _of(LENGTH, "largest diameter", "60.010 mm", DIAMETERS, needed=True),
                "limit": _of(LENGTH, "largest that the customer allows", "60.02 mm", DIAMETERS),
            },
            measured=True,
            rule=_least_first("least", "most"),
        ),
        Kind(
            "piece",
            "sizes as made: of a pocket, and of the piece that goes into it",
            {
                "bore": _needed(BORE),
                "piece": _whole("its number, by bore, then in clock order", "1", 1, 99),
                "side": _one_of("what it presses against", SIDES),
                "pocket": _of(LENGTH, "size of the pocket", "104.000 mm", FITS, needed=True),
                "insert": _of(LENGTH, "size of the piece there", "104.022 mm", FITS, needed=True),
            },
            measured=True,
            rule=_pieces,
        ),
        Kind(
            "fitting",
            "how a piece went in",
            {
                "bore": BORE,
                "piece": _whole("its number", "1", 1, 99),
                "block_temperature": _of(
                    TEMPERATURE, "of the block", "120 degC", TEMPERATURES, needed=True
                ),
                "insert_temperature": _of(
                    TEMPERATURE, "of the piece", "-78 degC", TEMPERATURES, needed=True
                ),
                "force": _of(FORCE, "that it took, 0 N if it dropped in", "800 N", (0, 1e6, "N")),
            },
            measured=True,
        ),
        Kind(
            "bore",
            "a diameter of a bore, before or after a step of the work",
            {
                "stage": _one_of("when", STAGES),
                "bore": _needed(BORE),
                "clock": _needed(CLOCK),
                "depth": _needed(DEPTH),
                "diameter": _of(LENGTH, "the diameter", "87.012 mm", DIAMETERS, needed=True),
            },
            measured=True,
        ),
        Kind(
            "deck",
            "the deck after it was machined",
            {
                "taken": _of(LENGTH, "what was taken off", "0.10 mm", (0, 5, "mm")),
                "flatness": _of(LENGTH, "out of flat", "20 um", (0, 2000, "um"), needed=True),
                "height": _of(LENGTH, "from the crankshaft's axis", "210.40 mm", (50, 1000, "mm")),
                "joint_step": _of(LENGTH, "insert over block", "5 um", (-2000, 2000, "um")),
            },
            measured=True,
        ),
        Kind(
            "leak test",
            "water jacket under pressure",
            {
                "pressure": _of(PRESSURE, "that it was put under", "3 bar", (0, 50, "bar"), True),
                "time": _of(DURATION, "how long", "10 min", (0, 1e6, "s")),
                "result": _one_of("what became of it", (TIGHT, "leaks")),
            },
            measured=True,
        ),
        Kind(
            "run",
            "load that the engine ran at, and how long",
            {
                "peak": _of(PRESSURE, "peak of the mean cycle", "140 bar", PEAK),
                "power": _of(POWER, "power of the engine", "400 hp", (1, 1e4, "kW")),
                "speed": _of(SPEED, "of the crank at that load", "7000 rpm", (100, 2e4, "rpm")),
                "hours": _of(DURATION, "at that load; of the engine beside pulls", "12 h", HOURS),
                "pulls": _count("how many pulls", "300", 1e7),
                "pull": _of(DURATION, "how long one lasts", "12 s", (0, 3600, "s")),
                "cycles": _count("working cycles at that load", "2.5e6", 1e12),
            },
            rule=_load,
        ),
        Kind(
            "opened",
            "the engine taken apart or looked into, and what was found",
            {
                "found": _one_of("what", FOUND),
                "bore": BORE,
                "clock": CLOCK,
                "depth": DEPTH,
                "length": _of(LENGTH, "of the crack", "6 mm", (0, 500, "mm")),
                "moment": _one_of("known, if it went as the last run ended", (KNOWN,), False),
            },
            rule=_crack,
        ),
        Kind(
            "distortion",
            "what the press did to the bore over what was predicted, of the job solved as built",
            {"results": _text("path of the results.json of its run", "", needed=True)},
        ),
        Kind(
            "photo",
            "a picture, by its name and hash",
            {
                "file": _text("path of the picture", "deck.jpg", needed=True),
                "shows": _text("what is on it", "cut of bore 2"),
            },
        ),
        Kind("note", "anything else", {"text": _text("words", "deck skimmed twice", True)}),
        Kind(
            "struck",
            "takes back a line that should not be there; name it with --corrects",
            {"why": _text("why", "was of another job", needed=True)},
        ),
    )
}


def kind_of(name: str) -> Kind | Fault:
    """The kind of a name, or why there is none."""
    plain = " ".join(name.lower().replace("-", " ").split())
    if plain in KINDS:
        return KINDS[plain]
    near = closest(plain, KINDS)
    guess = f" Did you mean {near}?" if near else ""
    return Fault("kind", f"There is no such line.{guess} Allowed: {', '.join(KINDS)}.", name)


def fields_text(kind: Kind) -> str:
    """The fields of a kind, for messages."""
    return "; ".join(
        f"{name}{'' if field.needed else ' (may be left out)'}"
        for name, field in kind.fields.items()
    )


def read_values(kind: Kind, typed: Mapping[str, str]) -> tuple[dict[str, Said], list[Fault]]:
    """Values of a line as they were typed, read; and all that is wrong with them."""
    said: dict[str, Said] = {}
    faults: list[Fault] = []
    for name, text in typed.items():
        text = text.strip()
        field = kind.fields.get(name)
        if field is None:
            near = closest(name, kind.fields)
            guess = f" Did you mean {near}?" if near else ""
            faults.append(
                Fault(name, f"A {kind.name} has no such field.{guess} It has: {fields_text(kind)}.")
            )
            continue
        if not text:
            faults.append(Fault(name, f"It is empty. Write it like {field.example}."))
            continue
        try:
            said[name] = Said(text, field.read(text))
        except ValueError as error:
            faults.append(Fault(name, str(error), text))
    for name, field in kind.fields.items():
        if field.needed and name not in typed:
            faults.append(Fault(name, f"It is missing: {field.what}, such as {field.example}."))
    if not faults and kind.rule:
        faults += [Fault(name, text) for name, text in kind.rule(said)]
    return said, faults


FILES = {"case": "file", "design": "results", "distortion": "results", "photo": "file"}
"""Field of a kind that names a file, whose hash is kept with it."""


def file_named(kind: Kind, said: Mapping[str, Said]) -> Path | None:
    """The file that a line names; where it was, once the line is kept."""
    field = FILES.get(kind.name)
    return Path(str(said[field].inside)) if field and field in said else None
