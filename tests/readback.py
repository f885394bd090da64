"""Reads numbers back where people read them: tables of a page, cells, sentences, leaves of JSON.

A number is compared with the quantity it came from, in the unit that stands beside it or in its
heading, to half a unit of its last place.
"""

from __future__ import annotations

import dataclasses
import math
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

import numpy as np

SIZES = {
    "": ("", 1.0), "%": ("", 0.01), "times": ("", 1.0),
    "um": ("mm", 1e-3), "\u00b5m": ("mm", 1e-3), "mm": ("mm", 1.0),
    "mm2": ("mm2", 1.0), "mm\u00b2": ("mm2", 1.0),
    "MPa": ("MPa", 1.0), "bar": ("MPa", 0.1), "GPa": ("MPa", 1e3),
    "MPa \u221am": ("MPa sqrt(m)", 1.0), "MPa per mm": ("MPa/mm", 1.0),
    "g": ("g", 1.0), "N per mm": ("N/mm", 1.0), "N m": ("N m", 1.0), "N": ("N", 1.0),
    "kN": ("N", 1e3),
    "MW/m\u00b2": ("W/mm2", 1.0),
    "W/(m\u00b2 K)": ("W/(mm2 K)", 1e-6), "W": ("W", 1.0), "kW": ("W", 1e3),
    "MJ/kg": ("J/g", 1e3), "J/g": ("J/g", 1.0), "W/(mm2 K)": ("W/(mm2 K)", 1.0),
    "degC": ("degC", 1.0), "K": ("K", 1.0),
    "degrees": ("deg", 1.0), "deg": ("deg", 1.0), "rpm": ("rpm", 1.0),
    "hours": ("h", 1.0), "h": ("h", 1.0), "min": ("h", 1 / 60), "s": ("s", 1.0),
    "seconds": ("s", 1.0), "cycles": ("cycles", 1.0),
}  # fmt: skip
"""Unit as it is written: what it measures, and how large it is there."""

SUFFIXES = {
    "mpa_sqrt_m": "MPa \u221am", "mpa_per_mm": "MPa per mm", "n_per_mm": "N per mm",
    "mw_per_m2": "MW/m\u00b2",
    "w_per_m2k": "W/(m\u00b2 K)", "degc": "degC", "mm2": "mm2", "mpa": "MPa", "um": "um",
    "mm": "mm", "kw": "kW", "nm": "N m", "deg": "deg", "rpm": "rpm", "hours": "hours",
    "n": "N", "w": "W", "k": "K", "cycles": "cycles",
}  # fmt: skip
"""End of a key of ``results.json`` and the unit that it names, longer ends first."""

_UNITS = "|".join(sorted(map(re.escape, filter(None, SIZES)), key=len, reverse=True))
NUMBER = re.compile(
    r"(?P<number>(?<![\w.:])[+\-\u2212]?\d+(?:,\d{3})*(?:\.\d+)?(?:e[+-]?\d+)?)(?P<million>\s+million)?"
    rf"(?:\s*(?P<unit>{_UNITS})(?![\w]))?"
)
"""A number with its unit; clock positions and numbers within words are none."""
CLOCK = re.compile(r"(?<![\d.])\d{1,2}:\d\d(?!\d)")
DASH = "\N{EN DASH}"


@dataclass(frozen=True)
class Quantity:
    """A number with its unit.

    ``digits`` are those that it is told to, at least; without, as many as are written.
    """

    value: float
    unit: str = ""
    digits: int | None = None


@dataclass(frozen=True)
class Told:
    """A cell or a sentence: ``#`` stands for each quantity, with the unit behind it."""

    words: str
    quantities: tuple[Quantity, ...]


def told(words, *quantities):
    """Words with a ``#`` for each quantity."""
    return Told(words, quantities)


def plain(text):
    """Text with single spaces."""
    return re.sub(r"\s+", " ", text).strip()


def shows(match, quantity, unit=""):
    """Whether a number as it is written is a quantity, in its own unit or in that of a heading."""
    written = match["number"].replace(",", "").replace("\u2212", "-")
    kind, size = SIZES[match["unit"] or unit]
    wanted_kind, wanted_size = SIZES[quantity.unit]
    if kind != wanted_kind:
        return False
    mantissa, _, exponent = written.lower().partition("e")
    step = 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))
    times = 1e6 if match["million"] else 1.0
    wanted = quantity.value * wanted_size / size
    slack = 0.5 * step * times
    if quantity.digits and wanted:
        place = math.floor(math.log10(abs(wanted))) - quantity.digits + 1
        slack = max(slack, 0.5 * 10.0**place)
    return abs(float(written) * times - wanted) <= slack * (1 + 1e-9) + 1e-9 * abs(wanted)


def fault_of_cell(text, wanted, unit=""):
    """What is wrong with a cell, or nothing: a text, a quantity, several, words, or None: a dash.

    Parameters
    ----------
    text : str
    wanted : str, Quantity, sequence of Quantity, Told or None
    unit : str
        Of the heading.
    """
    text = plain(text)
    if wanted is None:
        return "" if text in ("", DASH) else f"{text!r} is not left out"
    if isinstance(wanted, str):
        return "" if text == plain(wanted) else f"{text!r} is not {plain(wanted)!r}"
    if isinstance(wanted, Told):
        return fault_of_sentence(text, wanted, unit, whole=True)
    quantities = [wanted] if isinstance(wanted, Quantity) else list(wanted)
    found = list(NUMBER.finditer(text))
    if len(found) != len(quantities):
        return f"{text!r} does not hold {len(quantities)} numbers"
    for match, quantity in zip(found, quantities, strict=True):
        if not shows(match, quantity, unit):
            return f"{text!r} under [{unit}] is not {quantity}"
    return ""


def sentence(wanted):
    """The regular expression of a sentence with numbers."""
    pieces = [re.escape(plain(piece)) for piece in wanted.words.split("#")]
    hole = NUMBER.pattern.replace("(?P<number>", "(").replace("(?P<million>", "(")
    hole = hole.replace("(?P<unit>", "(")
    return re.compile(rf"\s*{hole}\s*".join(pieces))


def fault_of_sentence(text, wanted, unit="", whole=False):
    """What is wrong with a sentence that stands in a text, or is the text, or nothing."""
    pattern = sentence(wanted)
    found = pattern.fullmatch(text) if whole else pattern.search(text)
    if not found:
        return f"{wanted.words!r} is not in {text[:2000]!r}"
    groups = found.groups()
    for place, quantity in enumerate(wanted.quantities):
        number, million, own = groups[3 * place : 3 * place + 3]
        match = {"number": number, "million": million, "unit": own}
        if not shows(match, quantity, unit):
            return f"{found[0]!r}: number {place + 1} is not {quantity}"
    return ""


@dataclass
class Table:
    """A table of a page as a reader sees it."""

    chapter: str  # id of the heading of the chapter
    title: str  # heading of the section and caption
    headings: list[tuple[str, str]] = field(default_factory=list)  # name, unit
    rows: list[list[str]] = field(default_factory=list)
    keyed: bool = False  # rows of a key and what is said of it


class Page(HTMLParser):
    """Tables of a page, and the prose of each chapter without them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tables: list[Table] = []
        self.prose: dict[str, list[str]] = {"": []}
        self.chapter, self.section, self.text, self.span = "", "", None, 1
        self.inside, self.head, self.skip, self.in_th = False, False, 0, False
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag in ("style", "title", "footer"):
            self.skip += 1
        elif tag == "h2":
            self.chapter, self.section = given.get("id", "").removesuffix("-title"), ""
            self.prose[self.chapter] = []
        if tag == "table":
            self.tables.append(Table(self.chapter, self.section))
            self.inside = True
        elif tag == "thead":
            self.head = True
        elif tag == "tr" and self.inside:
            self.tables[-1].rows.append([])
        if tag in ("th", "td", "caption", "h2", "h3", "h1", "p", "li", "figcaption"):
            if self.text and tag in ("p", "li") and not self.inside:
                self.prose[self.chapter].append(plain("".join(self.text)))
            self.text, self.in_th = [], tag == "th"
            self.span = int(given.get("colspan") or 1)
        elif tag == "br" and self.text is not None:
            self.text.append(" ")

    def handle_data(self, data):
        if self.text is not None and not self.skip:
            self.text.append(data)

    def handle_endtag(self, tag):
        if tag in ("style", "title", "footer"):
            self.skip -= 1
        if tag == "thead":
            self.head = False
            names = self.tables[-1].rows.pop()
            self.tables[-1].headings = [_heading(name) for name in names]
        elif tag == "table":
            self.inside = False
            table = self.tables[-1]
            table.keyed = not table.headings
        if self.text is None or tag not in ("th", "td", "caption", "h1", "h3", "p", "li",
                                            "figcaption"):  # fmt: skip
            return
        text, self.text = plain("".join(self.text)), None
        if tag in ("th", "td"):
            self.tables[-1].rows[-1] += [text] * self.span
        elif tag == "caption":
            self.tables[-1].title = plain(f"{self.section} {text}")
            self.prose[self.chapter].append(text)
        elif tag == "h3":
            self.section = text
        elif text:
            self.prose[self.chapter].append(text)


def _heading(text):
    """Name and unit of a heading such as ``peak [bar]``."""
    found = re.search(r"\[([^\]]+)\]", text)
    if found and found[1] in SIZES:
        return plain(text.replace(found[0], "")), found[1]
    first = text.split(" ")[0]
    return text, first if first in ("cycles", "hours", "seconds") else ""


def faults_of_table(table, wanted, unit=""):
    """What is wrong with a table of a page; a column of no known source is a fault.

    Parameters
    ----------
    table : Table
    wanted : sequence of dict
        Row by row what stands under each heading; under the second of a name with " (2)" added.
    unit : str
        Of cells whose heading names none.
    """
    names: list[str] = []
    for name, _ in table.headings:
        names.append(f"{name} (2)" if name in names else name)
    faults = []
    where = f"{table.chapter}: {table.title[:40]}"
    if len(table.rows) != len(wanted):
        return [f"{where}: {len(table.rows)} rows, not {len(wanted)}"]
    for row, expected in zip(table.rows, wanted, strict=True):
        if set(names) != set(expected):
            faults.append(f"{where}: no source of {sorted(set(names) ^ set(expected))}")
            break
        if len(row) != len(names):
            faults.append(f"{where}: {row} does not fit {names}")
            break
        for name, text, (_, own) in zip(names, row, table.headings, strict=True):
            if fault := fault_of_cell(text, expected[name], own or unit):
                faults.append(f"{where}, {name}: {fault}")
    return faults


def numbers_left(text, sentences):
    """Numbers of a text that no sentence accounts for, as they are written."""
    for one in sorted(sentences, key=lambda one: -len(one.words)):
        text = sentence(one).sub(" ~ ", text)
    return [match["number"] for match in NUMBER.finditer(CLOCK.sub(" ~ ", text))]


@dataclass(frozen=True)
class Mirror:
    """A dataclass, each field under its own name; ``also`` more keys, ``but`` none of these."""

    item: object
    also: dict[str, object] = field(default_factory=dict)
    but: tuple[str, ...] = ()


def faults_of_json(found, wanted, path="", key=""):
    """Where a structure of ``results.json`` differs from the objects that it came from.

    A key of no known source is a fault; a :class:`Quantity` is compared in the unit that the key
    names.
    """
    if isinstance(wanted, Mirror):
        names = [one.name for one in dataclasses.fields(wanted.item) if one.name not in wanted.but]
        wanted = {name: getattr(wanted.item, name) for name in names} | wanted.also
    if isinstance(wanted, Quantity):
        unit = next((SUFFIXES[end] for end in SUFFIXES if f"_{key}".endswith(f"_{end}")), "")
        (kind, size), (wanted_kind, own) = SIZES[unit], SIZES[wanted.unit]
        if kind != wanted_kind:
            return [f"{path}: in {unit or 'no unit'}, not {wanted.unit or 'a plain number'}"]
        there = wanted.value is not None
        wanted = np.asarray(wanted.value) * own / size if there else None
    if isinstance(wanted, np.ndarray | np.generic):
        wanted = wanted.tolist()
    if isinstance(wanted, dict):
        if not isinstance(found, dict) or found.keys() != wanted.keys():
            there = found.keys() if isinstance(found, dict) else {"?"}
            return [f"{path}: no source of {sorted(there ^ wanted.keys())}"]
        return [
            fault
            for name in wanted
            for fault in faults_of_json(found[name], wanted[name], f"{path}.{name}", name)
        ]
    if isinstance(wanted, list | tuple):
        if not isinstance(found, list) or len(found) != len(wanted):
            return [f"{path}: not {len(wanted)} values"]
        return [
            fault
            for place, (one, other) in enumerate(zip(found, wanted, strict=True))
            for fault in faults_of_json(one, other, f"{path}[{place}]", key)
        ]
    if isinstance(wanted, float) and not isinstance(found, str | bool | None):
        same = math.isclose(found, wanted, rel_tol=1e-6, abs_tol=1e-12)
    else:
        same = found == wanted and isinstance(found, bool) == isinstance(wanted, bool)
    return [] if same else [f"{path}: {found!r} is not {wanted!r}"]
