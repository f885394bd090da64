"""The reference of keys and the case to start from: all of the schema is there, and holds."""

import re
import tomllib
from dataclasses import replace

import pytest
from click.testing import CliRunner
from pydantic import TypeAdapter

from cases import CaseError, read_case, solve_case
from cases.base.tables import Table, inner_table, quantity_of, range_of
from cases.cli import main
from cases.report.keys import WIDTH, key_tables, keys_named, keys_text, presence
from cases.report.starter import starter_case
from cases.subjects import case_table
from geometry.outline import draw_section

TABLES = key_tables()
START = starter_case(TABLES)
ALL = re.sub(r"^#(?=[a-z\[])", "", START, flags=re.M)
ENGINE = re.sub(r"^(peak_pressure|pressurised_depth) =", r"#\g<0>", ALL, flags=re.M)
PRESSURE = re.sub(r"^\[engine\]\n(?:.+\n)*", "", ALL, flags=re.M)


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def schema_keys(table, path=""):
    """Path, key and field of every key that holds no table, read off the schema by itself."""
    for name, field in table.model_fields.items():
        kind, within = inner_table(field.annotation)
        place = f"{path}.{name}" if path else name
        if kind is None:
            yield path, name, field
        else:
            yield from schema_keys(kind, place + ('."..."' if within is dict else ""))


KEYS = list(schema_keys(case_table()))
IDS = [f"{path}.{name}" for path, name, _ in KEYS]
every_key = pytest.mark.parametrize(("path", "name", "field"), KEYS, ids=IDS)


def told(path, name):
    (table,) = [table for table in TABLES if path in table.paths]
    (key,) = [key for key in table.keys if key.name == name]
    return key


def accepts(field, text):
    """Whether the key's own validator takes a value as it stands in a case file."""
    value = tomllib.loads(f"x = {text}")["x"]
    return TypeAdapter(field.rebuild_annotation()).validate_python(value)


@every_key
def test_every_key_is_told(path, name, field):
    key = told(path, name)
    assert key.what
    assert key.unit
    assert key.default
    assert key.range
    assert key.example
    assert key.required == field.is_required() == (key.default == "required")
    quantity = quantity_of(field)
    if quantity:
        assert all(unit in key.unit for unit in quantity.units)


def test_as_many_keys_are_told_as_there_are():
    assert sum(len(table.keys) * len(table.paths) for table in TABLES) == len(KEYS) > 100


@every_key
def test_its_example_and_default_are_taken(path, name, field):
    key = told(path, name)
    accepts(field, key.example)
    if key.required or field.default in (None, []):
        return
    written = re.sub(r" \(.*\)$", "", key.default)
    assert accepts(field, written) == pytest.approx(field.default)


def replaced(path, name, value):
    """The case to start from, all of it stated, with one value changed, or left out."""
    text, heading = ENGINE if path == "engine" else PRESSURE, path.replace('"..."', '"our casting"')
    if path.startswith("material"):
        text = text.replace('material = "A356-T6"', 'material = "our casting"')
    elsewhere = {"flow": "coolant_film", "fluid": "glycol", "readings": "wall_table"}
    if name in elsewhere:
        text = re.sub(rf"^{elsewhere[name]} = .*\n", "", text, flags=re.M)
    drawn = "table drawing layer bore_layer vent_layer unit head_table head_layer"
    alone = {"flow": "", "readings": "", "recorded": "", "store": "",
             **dict.fromkeys(drawn.split(), ""),
             "power": "intake_pressure", "boost": "intake_pressure",
             "trace": "peak_pressure pressurised_depth",
             "casting_class": "pore", "clearance": "interference", "bonded": "interference",
             "interference_per_side": "interference", "liner_clearance": "liner_interference",
             "gas_heat_flux": "gas_film gas_temperature", "bolt_clocks": "bolts"}  # fmt: skip
    start = re.search(rf"^\[+{re.escape(heading)}\]+$", text, re.M).end() if heading else 0
    if heading == "design":  # the second of them
        start += re.search(r"^\[\[design\]\]$", text[start:], re.M).end()
    end = re.search(r"^\[|\Z", text[start:], re.M).start() + start
    inside = text[start:end]
    for other in alone.get(name, "").split():
        inside = re.sub(rf"^{other} = .*\n", "", inside, flags=re.M)
    line = "" if value is None else f"{name} = {value}"
    if name in alone:
        inside += f"\n{line}\n"
    else:
        inside, count = re.subn(rf"^{name} = .*$", lambda _: line, inside, flags=re.M)
        assert count == 1
    return text[:start] + inside + text[end:]


NEEDED = ("liner", "jacket", "outer_wall")  # what else the case states can't be without them
WRITTEN = [
    (path, name, field)
    for path, name, field in KEYS
    if not field.is_required() and field.default not in (None, []) and name not in NEEDED
]


@pytest.mark.parametrize(
    ("path", "name", "field"), WRITTEN, ids=[f"{path}.{name}" for path, name, _ in WRITTEN]
)
def test_its_default_is_what_counts_without_it(case_of, path, name, field):
    written = re.sub(r" \(.*\)$", "", told(path, name).default)
    cases = []
    for text in (replaced(path, name, None), replaced(path, name, written)):
        if name == "bores":  # what asks for more than one
            text = re.sub(r"^(?:bores = \[|pitch|firing_bore).*\n", "", text, flags=re.M)
        cases.append(plain(case_of(text)))
    assert cases[0] == cases[1]


def plain(case):
    """A case but for its file, and what it says of what is left out."""
    gas = case.given["gas"]
    if gas.engine:
        case = case.told("gas", replace(gas, engine=replace(gas.engine, assumed=())))
    return replace(case, source_path=None)


def values(field):
    """Values on the ends of a range, and just outside of them."""
    limits, quantity = range_of(field), quantity_of(field)
    span = limits.most - limits.least
    unit = f" {limits.unit}" if quantity else ""
    step = 1 if span > 5 or not unit else 1e-3 * span
    if limits.most > 1e4:
        step = 0.01 * limits.most

    def text(value):
        return f'"{value:.10g}{unit}"' if unit else f"{value:.10g}"

    outside = [limits.most + step]
    if limits.above:
        outside.append(limits.least)
    elif limits.unit != "degC" or limits.least > -270:
        outside.append(limits.least - min(step, abs(limits.least) / 2 or step))
    return [text(value) for value in outside], text(limits.most)


@pytest.mark.parametrize(
    ("path", "name", "field"), [key for key in KEYS if range_of(key[2])],
    ids=[one for one, key in zip(IDS, KEYS, strict=True) if range_of(key[2])],
)  # fmt: skip
def test_a_value_outside_its_range_is_refused(case_of, path, name, field):
    for value in values(field)[0]:
        with pytest.raises(CaseError) as refused:
            case_of(replaced(path, name, value))
        places = [re.sub(r"\[\d+\]", "", fault.path) for fault in refused.value.faults]
        texts = " ".join(fault.text for fault in refused.value.faults)
        assert any(place.endswith(name) for place in places), str(refused.value)
        assert re.search("outside|above|thinner|bores", texts), texts


OUTSIDE = {  # of keys whose range depends on others, or is told in words
    "job": '""',
    "block.material": '"cheese"',
    "block.liner_material": '"cheese"',
    "block.wall_table": '[["12:00", "6 mm"], ["4:00", "5.7 mm"]]',
    "block.pitch": '"92 mm"',
    "block.firing_bore": "5",
    "design.name": '"a/b"',
    "design.material": '"cheese"',
    "engine.rod": '"50 mm"',
    "engine.cylinders": "25",
    "gas.pressurised_depth": '"29 mm"',
    "gas.trace": '"none.csv"',
    "piston_ring.radial_width": '"11 mm"',
    "rating.draws": "19",
    "rating.wall_tolerance": '"1.6 mm"',
    "inspection.readings": '"none.csv"',
    "record.store": '"none.sqlite"',
    "coolant.pump": '[["0 L/min", "1 bar"]]',
    "coolant.inlet_bore": "3",
    "slots.design": '"none"',
    "slots.open_share": '"120 %"',
    "gasket.name": '""',
    "gasket.table": '"none.csv"',
    "gasket.drawing": '"none.dxf"',
    "gasket.layer": '"NONE"',
    "gasket.bore_layer": '"NONE"',
    "gasket.vent_layer": '"NONE"',
    "gasket.head_table": '"none.csv"',
    "gasket.head_layer": '"NONE"',
    "gasket.bead_diameter": '"88 mm"',
    "gasket.opening.bores": "[5]",
    "head.bolt_clocks": '["1:30", "4:30"]',
    "head.bolt_circle": '"160 mm"',
    "head.fire_ring_diameter": '"103 mm"',
    "depth.floor": '"24 mm"',
    "crack.longest": '"0.4 mm"',
    'material."...".hot.temperature': '"20 degC"',
    "search.like": '"bare"',
    "search.wanted": '["limit"]',
    "search.hold": '["glued", "bonded"]',
    "search.material": '["cheese"]',
    "search.zone.clocks": "[]",
    "tie.bores": "[5]",
    "relief_cut.bores": "[5]",
    "design.slot.bores": "[5]",
}
DRAWN = {"design.slot.radius": '"40 mm"'}  # refused when the section is drawn
FREE = {"note", "making.revision", "record.job", 'material."...".source'}


def outside_in_words(path, name, field):
    """A value that a range in words, in the schema's constraints or in choices leaves out."""
    one = f"{path}.{name}" if path else name
    if one in OUTSIDE:
        return OUTSIDE[one]
    key = told(path, name)
    if key.range.startswith('"0:00"'):
        return '"13:00"'
    if re.match(r'"|true, false', key.range):
        return '"something else"'
    high = re.search(r"to (?:below )?(\S+)$", key.range)
    return f"{float(high[1]) * 1.01 + 0.01:g}" if high else None


@pytest.mark.parametrize(
    ("path", "name", "field"), [key for key in KEYS if not range_of(key[2])],
    ids=[one for one, key in zip(IDS, KEYS, strict=True) if not range_of(key[2])],
)  # fmt: skip
def test_a_value_that_its_words_leave_out_is_refused(case_of, path, name, field):
    one = f"{path}.{name}" if path else name
    if one in FREE:
        assert told(path, name).range == "any text"
        return
    if one in DRAWN:
        case = case_of(replaced(path, name, DRAWN[one]))
        with pytest.raises(ValueError, match="reaches outside the insert"):
            draw_section(case.section(case.designs[1]))
        return
    with pytest.raises(CaseError) as refused:
        case_of(replaced(path, name, outside_in_words(path, name, field)))
    places = [re.sub(r"\[\d+\]", "", fault.path) for fault in refused.value.faults]
    assert any(place.endswith(name) for place in places), str(refused.value)


def test_ends_of_a_range_are_taken():
    """Those of the gas: to the last digit, in the unit that the range is told in."""
    (table,) = keys_named("gas", TABLES)
    assert table.keys[0].range == "0.1 to 1000 bar"
    limits = range_of(case_table().model_fields["gas"].annotation.model_fields["peak_pressure"])
    assert (limits.least, limits.most, limits.unit) == (0.1, 1000, "bar")
    for end in ("0.1 bar", "1000 bar"):
        assert accepts(KEYS[IDS.index("gas.peak_pressure")][2], f'"{end}"')


def test_the_text_fits_a_terminal_of_80_columns():
    done = run("keys")
    assert done.exit_code == 0
    assert max(map(len, done.output.splitlines())) <= WIDTH < 80
    assert "\x1b" not in done.output
    assert done.output.count("example:") == sum(len(table.keys) for table in TABLES)
    assert "[design.fit.barrel], [design.fit.outer_wall], [design.fit.ties]" in done.output


@pytest.mark.parametrize(
    ("asked", "headings", "keys"),
    [
        ("heat", ["[heat]"], "gas_film gas_temperature"),
        ("[[tie]]", ["[[tie]]"], "clock width depth fillet bores"),
        ("tie.width", ["[[tie]]"], "width"),
        ("design.zone", ["[[design.zone]]"], "clock width depth blend"),
        ("flaw", ["[crack]"], "flaw"),
        ("Hot", ["[[design.compound.hot]]", '[[material."...".hot]]'], "temperature"),
    ],
)
def test_a_name_narrows_it(asked, headings, keys):
    found = keys_named(asked, TABLES)
    assert [heading for table in found for heading in table.headings] == headings
    assert [key.name for key in found[0].keys][: len(keys.split())] == keys.split()


def test_a_name_of_many_keys_finds_them_all():
    found = keys_named("depth", TABLES)
    assert len([table for table in found if "depth" in table.paths]) == 1
    assert {table.paths[0] for table in found} == {
        "tie", "relief_cut", "section", "design", "design.register", "design.zone", "depth",
        "inspection.crack", "search.depth", "search.zone.depth",
    }  # fmt: skip


@pytest.mark.parametrize(("asked", "guess"), [("haet", "heat"), ("clok", "clock")])
def test_an_unknown_name_is_refused_with_the_nearest(asked, guess):
    done = run("keys", asked)
    assert done.exit_code == 2
    assert f"Did you mean {guess}?" in done.output


def test_the_page_tells_every_key_and_needs_nothing_else(tmp_path):
    page = tmp_path / "keys.html"
    done = run("keys", "--html", page)
    assert done.exit_code == 0, done.output
    html = page.read_text(encoding="utf-8")
    assert html.count("<tr><td><code>") == sum(len(table.keys) for table in TABLES)
    assert not re.search(r"(?:src|href)=\"(?!#)", html)
    links = re.findall(r'href="#(\w+)"', html)
    assert len(links) == len(TABLES)
    assert all(f'id="{link}"' in html for link in links)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", '--html = ""\n      It is empty.'),
        ("here", "A folder has that name. To write into it: --html here"),
        ("there/keys.html", "There is no folder there. Make it first, or choose another."),
    ],
)
def test_a_page_that_can_not_be_written_is_refused(tmp_path, monkeypatch, name, says):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "here").mkdir()
    done = run("keys", "--html", name)
    assert done.exit_code == 2
    assert says in done.output


COARSE = '\n[section]\nmesh = "coarse"\ntolerance = "20 %"\n'


@pytest.mark.parametrize(
    "more", [COARSE, pytest.param("", marks=pytest.mark.slow)], ids=["coarse", "as it stands"]
)
def test_a_new_case_reads_and_solves(tmp_path, more):
    path = tmp_path / "new.toml"
    done = run("new", path)
    assert done.exit_code == 0, done.output
    assert path.read_text(encoding="utf-8") == START
    assert "invented" in START.split("\n\n")[0]
    path.write_text(START + more, encoding="utf-8")
    result = solve_case(read_case(path))
    assert [design.name for design in result.designs] == ["bare", "local"]


@pytest.mark.parametrize("text", [PRESSURE, ENGINE], ids=["pressure stated", "engine"])
def test_all_of_a_new_case_reads_and_draws(case_of, text):
    case = case_of(text)
    for design in case.designs:
        draw_section(case.section(design))


def test_every_table_and_key_stands_in_a_new_case():
    for table in TABLES:
        for heading in table.headings:
            assert heading.replace('"..."', '"our casting"') in ALL.splitlines()
        for key in table.keys:
            assert f"{key.name} = {key.example}" in ALL.replace("\n#   ", " ")
    assert presence(TABLES[1]) == "required"


def test_a_new_case_never_writes_over_another(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    done = run("new", path)
    assert done.exit_code == 2
    assert "It exists, and is left as it is." in done.output
    assert path.read_text() == "mine"


def test_a_new_case_wants_a_folder(tmp_path):
    done = run("new", tmp_path / "none" / "new.toml")
    assert done.exit_code == 2
    assert f"There is no folder {tmp_path / 'none'}." in done.output


def test_a_new_case_wants_a_name():
    done = run("new", "")
    assert done.exit_code == 2
    assert "It is empty. Name a folder or file.\n" in done.output


def test_a_schema_without_words_is_no_reference():
    """What test_every_key_is_told sees where a key lacks them."""

    class Bare(Table):
        odd: float = 1.0

    (table,) = key_tables(Bare)
    assert (table.keys[0].what, table.keys[0].example, table.keys[0].range) == ("", "", "")
    assert "odd" in keys_text([table])
