"""Every number of the terminal against the object it came from, in the unit that stands with it.

A column or a line with a number that is not known here fails: it has to name its source first.
"""

from __future__ import annotations

import math
import re

import pytest
from fit_words import fit_sentences
from readback import (
    NUMBER,
    Quantity,
    fault_of_cell,
    fault_of_sentence,
    numbers_left,
    plain,
    shows,
    told,
)
from shaken import LIVES, POINTS, SWEEPS, with_rating, with_sweep

from cases.base.subject import TextTable
from cases.bores.words import worse_lines
from cases.fit.lines import first_lines as unfit_lines
from cases.fit.lines import fit_lines
from cases.gas.solve import gas_of
from cases.life.hot import hot_lines
from cases.life.result import service_of
from cases.rating.lines import rating_lines
from cases.rating.result import DISTANCE, rating_of
from cases.rating.words import RATING_CAUTIONS
from cases.report.terminal import COLD, REST, at_a_glance, first_lines, print_result
from cases.stress.columns import stress_columns
from cases.subjects import SUBJECTS
from cases.verdict.read import verdict_of
from cases.verdict.words import sentence
from geometry.clock import format_clock

OWN = ("barrel", "tie", "outer wall")


def q(value, unit="", digits=None):
    """A quantity; None, which is to be left out, where there is none."""
    return None if value is None else Quantity(float(value), unit, digits)


def worst(design, parts):
    spots = [spot for spot in design.hot_spots if spot.part in parts and not spot.sharp]
    return max(spots, key=lambda spot: spot.principal_mpa, default=None)


def marked(spot):
    """Stress of a spot, with a star where its error is not within the tolerance."""
    stress = None if spot is None else q(spot.principal_mpa, "MPa")
    return None if spot is None else told("#" if spot.settled else "#*", stress)


def unit_of(heading):
    """Unit that a heading of the terminal ends with, and the name before it."""
    words = heading.split()
    return (" ".join(words[:-1]), words[-1]) if words[-1] in ("MPa", "um", "mm2", "bar", "kW") \
        else (" ".join(words), "")  # fmt: skip


def of_bore(design, spot):
    """Part and clock of a spot; its bore where that is another than the second, which fires."""
    x0, x1 = sorted(design.section.block.axes)
    bore = 1 if abs(spot.x_mm - x0) < abs(spot.x_mm - x1) else 2
    return f"{spot.part} {spot.clock}" if bore == 2 else f"{spot.part}, bore 1, {spot.clock}"


def glance(result):
    rows = []
    for design in result.designs:
        spot = worst(design, OWN)
        liner, insert = (worst(design, (part,)) for part in ("liner", "insert"))
        rows.append({
            "Design": design.name, "Worst spot of the block": of_bore(design, spot),
            "Stress": marked(spot),
            "Liner": marked(liner),
            "Insert": marked(insert),
            "Growth": q(design.bore.mean_growth_um, "um"),
            "Out of round": q(design.bore.out_of_round_um, "um"),
            "Water": q(design.open_area_mm2, "mm2"), "Insert (2)": q(design.insert_area_mm2, "mm2"),
        })  # fmt: skip
    return rows


def life_of(cycles):
    if math.isinf(cycles):
        return "no harm"
    if cycles > 1e10:
        return "beyond 1e10"
    return q(cycles, "", 2) if cycles >= 1000 else "below 1000: outside the line"


def limits(result):
    rows = []
    for design in result.designs:
        rating = rating_of(design)
        limit, band = rating.limit, rating.band
        used = rating.used_at_limit
        rows.append({
            "Design": design.name,
            "Limit x asked": told("at most #", q(limit.factor)) if limit.at_most
            else q(limit.factor),
            "5-95 % x asked": told("#-#", q(band.factor[0]), q(band.factor[2])),
            "Peak": q(limit.pressure_mpa, "MPa"), "Boost": q(limit.boost_mpa, "MPa"),
            "Power": q(limit.power_kw, "kW"),
            "Cycles at the asked": life_of(min(rating.life_cycles.values())),
            "Governed by": f"{max(used, key=used.get)}, {of_bore(design, rating.governing.spot)}"
            + (f", by {DISTANCE}" if rating.governing.judged_by == DISTANCE else ""),
        })  # fmt: skip
    return rows


def faults_of_text_table(table, wanted):
    names, faults = [], []
    for heading in table.headings:
        name, unit = unit_of(heading)
        names.append((f"{name} (2)" if name in dict(names) else name, unit))
    assert len(table.rows) == len(wanted)
    for row, expected in zip(table.rows, wanted, strict=True):
        if dict(names).keys() != expected.keys():
            return [f"no source of {sorted(dict(names).keys() ^ expected.keys())}"]
        for text, (name, unit) in zip(row, names, strict=True):
            if fault := fault_of_cell(text, expected[name], unit):
                faults.append(f"{name}: {fault}")
    return faults


def fits_told(result):
    """What is said of the fits: first what will not do."""
    return [*unfit_lines(result), *fit_lines(result)]


@pytest.fixture(scope="module")
def lines(told_result):
    """What each subject says, and its tables."""
    told = {subject.key: list(subject.lines(told_result)) for subject in SUBJECTS}
    return told | {"fit": fits_told(told_result)}


def test_designs_at_a_glance(told_result):
    faults = faults_of_text_table(at_a_glance(told_result), glance(told_result))
    assert not faults, "\n".join(faults)


def test_every_column_shows_its_values_in_the_unit_of_its_headings(told_result):
    """Whatever the subject; a column with a number has to say which it is."""
    for design in told_result.designs:
        for column in (one for subject in SUBJECTS for one in subject.columns(told_result, design)):
            found = re.search(r"\[([^\]]+)\]", column.heading)
            unit = found[1] if found else ""
            short = unit_of(column.terminal_heading)[1]
            shown = [(column.text, unit), ("\n".join(column.lines) or column.text, short)]
            for text, own in shown if not column.words else ():
                numbers = list(NUMBER.finditer(text))
                assert len(numbers) <= len(column.values), (column.heading, text)
                assert bool(numbers) == bool(column.values), (column.heading, text)
                for number, value in zip(numbers, column.values, strict=False):
                    of = "%" if number["unit"] == "%" else unit
                    assert shows(number, q(value, of), own), (column.heading, text, value)


def test_the_values_of_columns_are_those_of_the_design(told_result):
    for design, wanted in zip(told_result.designs, glance(told_result), strict=True):
        for column in stress_columns(told_result, design):
            name = plain(unit_of(column.terminal_heading)[0])
            name = "Insert (2)" if column.heading.startswith("insert") else name
            if column.values:
                unit = "%" if name.startswith("To ") else unit_of(column.terminal_heading)[1]
                value = column.values[0] * (0.01 if unit == "%" else 1)
                known = wanted[name]
                known = known if isinstance(known, Quantity) else known.quantities[0]
                assert value == pytest.approx(known.value), column.heading


def test_limits(told_result, lines):
    (table,) = (one for one in lines["rating"] if isinstance(one, TextTable))
    faults = faults_of_text_table(table, limits(told_result))
    assert not faults, "\n".join(faults)


def life_sentences(result):
    for design in result.designs:
        service = service_of(design)
        step = next(one for one in service.steps if one.name == "warm at gas")
        spot = worst(step, OWN)
        bore, joint = step.bore, step.joint
        words = f"{design.name}, {step.name}: block # +- # at {spot.part} {spot.clock}, bore "
        numbers = [q(spot.principal_mpa), q(spot.error_mpa, "MPa")]
        for value, error in ((bore.mean_growth_um, bore.growth_error_um),
                             (bore.out_of_round_um, bore.out_of_round_error_um)):  # fmt: skip
            words += "#, " if error is None else "# +- #, "
            numbers += [q(value, "um")] if error is None else [q(value), q(error, "um")]
        words = words.removesuffix(", ") + " out of round"
        if joint:
            words += ", joint # +- # open"
            numbers += [q(100 * joint.open_share), q(joint.open_share_error)]
        yield told(f"{words}.", *numbers)


def gas_sentences(result):
    load = gas_of(result).wall_load
    run, deg = load.cycle, load.cycle.closed.deg
    yield told(
        "Gas: # absolute in the intake and #; # at # after the top, most load on the section at #.",
        q(run.engine.intake_pressure, "MPa"), q(160e3, "W"), q(max(run.closed.pressure), "MPa"),
        q(deg[run.closed.pressure.argmax()], "deg"), q(deg[load.line_loads.argmax()], "deg"),
    )  # fmt: skip


def rating_sentences(result):
    yield told("A limit is the load that # of # draws carry", q(90), q(100))
    yield told("what is rated is the mean cycle times # for detonation", q(1.1))


def depth_sentences(result):
    found = result.found["depth"]
    for one in found.designs:
        words = f"{one.name} # at #, #"
        numbers = [q(one.hoop_mpa, "MPa"), q(one.hoop_at_mm, "mm"), q(one.growth_um, "um")]
        if one.sweep:
            enough = one.sweep.enough_hoop_mm
            words += " (an insert # deep is enough)" if enough else " (deeper still pays)"
            numbers += [q(enough, "mm")] if enough else []
        yield told(words, *numbers)


def head_sentences(result):
    """Of a load of 3 bolts of 36 kN, 55 % of it on a fire ring of 84 x 3 mm."""
    load, area = 3 * 36e3, math.pi / 4 * 84**2
    left = max(0, 1 - gas_of(result).peak_pressure * area / load)
    yield told(
        "Head: 6 bolts of #, 4 about bore 2, 2 of them shared with a neighbour: #, # on its fire "
        "ring. It lifts at #, its fire ring alone is unloaded at #; the asked gas leaves #",
        q(36e3, "N"), q(load, "N"), q(0.55 * load / (math.pi * 84), "N per mm"),
        q(load / area, "MPa"), q(0.55 * load / area, "MPa"), q(left),
    )  # fmt: skip
    head = result.designs[0].found["head"]
    yield told(
        "in the mean: barrel #, liner #; at the asked gas #, # MPa.",
        *(q(head.wall_mpa[part], "MPa") for part in ("barrel", "liner")),
        *(q(head.wall_at_gas_mpa[part]) for part in ("barrel", "liner")),
    )
    for design in result.designs:
        pressed = design.found["head"].pressed
        if pressed is not None:
            down, water, hold = pressed.down_n, pressed.water_n, pressed.hold_n
            yield told(
                f"{design.name}: the gasket presses the insert down with # (the water lifts it "
                "with #) and would hold it sideways with # more;",
                q(down, "N"), q(water, "N"), q(pressed.friction_n, "N"),
            )  # fmt: skip
            yield told(f"Its fit holds # at the least ({pressed.hold_step})", q(hold, "N"))
            if down - water > hold:
                yield told("# too little", q(down - water - hold, "N"))
    yield told(
        "alike: # a bolt, # under the fire ring, # on the rest. Clamping may add up to #",
        q(36e3, "N"), q(0.55 * load / (math.pi * 84 * 3), "MPa"),
        q(head.land_pressure_mpa, "MPa"), q(head.most_growth_um, "um"),
    )  # fmt: skip


def deck_states(result):
    rows = []
    for design in result.designs:
        states = design.found["head"].states
        free, friction, held = (states[way] for way in ("free", "by friction", "face held"))
        row = {"Design": design.name}
        for name, state in (("Free", free), ("Friction", friction), ("Face held", held)):
            spot = state.worst
            row[name] = told("# +-#", q(spot.principal_mpa, "MPa"), q(spot.error_mpa, "MPa"))
        grown = (("Growth free", free), ("Friction (2)", friction), ("Face held (2)", held))
        for name, state in grown:
            row[name] = q(state.bore.mean_growth_um, "um")
        for name, state in (("Limit by friction", friction), ("Limit, face held", held)):
            row[name] = q(free.worst.principal_mpa / state.worst.principal_mpa - 1)
        rows.append(row)
    return rows


def crack_sentences(result):
    found = result.found["crack"]
    at = format_clock(found.place.clock_hours)
    yield told(f"A crack of # in the {found.place.part} at {at}:", q(0.5, "mm"))
    for one in found.series:
        grown = one.crack_growth
        if grown.end not in ("shut", "threshold"):
            yield told(f"{one.design} {grown.words} after #", q(grown.cycles[-1], "cycles"))


SENTENCES = {
    "gas": gas_sentences, "rating": rating_sentences, "life": life_sentences, "fit": fit_sentences,
    "depth": depth_sentences, "crack": crack_sentences, "head": head_sentences,
}  # fmt: skip


def test_the_deck_held_by_the_head(told_result, lines):
    (table,) = (one for one in lines["head"] if isinstance(one, TextTable))
    faults = faults_of_text_table(table, deck_states(told_result))
    assert not faults, "\n".join(faults)


def test_what_is_to_be_read_first_is_printed_first(told_result, monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "500")
    print_result(told_result)
    out = plain(capsys.readouterr().out)
    flags = [*worse_lines(told_result), *hot_lines(told_result)]
    verdict = [sentence(verdict_of(told_result)), *flags]
    assert out.startswith(plain(" ".join(verdict)))
    rest = [line for line in first_lines(told_result) if line not in flags]
    assert rest
    assert plain(" ".join([REST, *rest, COLD])) in out


@pytest.mark.parametrize("changes", LIVES)
def test_however_long_a_life_it_is_that_of_its_object(told_result, changes):
    result = with_rating(told_result, **changes)
    (table,) = (one for one in rating_lines(result) if isinstance(one, TextTable))
    faults = faults_of_text_table(table, limits(result))
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(
    ("changes", "each"), [*((one, {}) for one in SWEEPS), *(({}, one) for one in POINTS)]
)
def test_whatever_is_advised_is_that_of_its_object(told_result, changes, each):
    result = with_sweep(told_result, each, **changes)
    text = plain(" ".join(fits_told(result)))
    faults = [fault for one in fit_sentences(result) if (fault := fault_of_sentence(text, one))]
    assert not faults, "\n".join(faults)


def test_every_number_of_every_line_is_that_of_its_object(told_result, lines):
    faults = []
    notes = [*RATING_CAUTIONS]
    for design in told_result.designs:
        notes += [*service_of(design).notes, *rating_of(design).notes]
    for key, said in lines.items():
        text = plain(" ".join(one for one in said if isinstance(one, str)))
        sentences = list(SENTENCES[key](told_result)) if key in SENTENCES else []
        faults += [fault for one in sentences if (fault := fault_of_sentence(text, one))]
        for note in notes:
            text = text.replace(plain(note), " ~ ")
        left = numbers_left(text, sentences)
        if key == "stress":
            left = [one for one in left if one != "2"]  # bore 2 fires; mm2 holds none
        faults += [f"{key}: no source of {left} in {text!r}"] if left else []
    assert not faults, "\n".join(faults)


def test_the_terminal_prints_all_of_it(told_result, lines, monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "500")
    print_result(told_result)
    out = plain(capsys.readouterr().out)
    tables = [at_a_glance(told_result)]
    kept = [subject.key for subject in SUBJECTS if not subject.on_page]
    assert {"rating", "fit", "head", "depth", "crack"} <= set(kept)
    for said in (lines[key] for key in kept):
        for one in said:
            if isinstance(one, TextTable):
                tables.append(one)
            else:
                assert plain(one) in out
    for table in tables:
        for row in table.rows:
            assert plain(" ".join(row)) in out
