"""From a file to its dials and back: what moves, what stays, which dial a fault is of."""

import tomllib
from difflib import unified_diff
from pathlib import Path

import pytest

from cases.base.faults import CaseError
from cases.block.drawn import draw_all
from cases.dials.dial import ONE_PIECE, dials_of, movable
from cases.dials.save import saved_text
from cases.dials.turn import dial_of, moved_of, turned
from cases.read import case_of
from cases.search.table import ALL_ROUND, BONDED

BUNDLED = Path("cases/library/hillclimb_four.toml")
TEXT = BUNDLED.read_text(encoding="utf-8")
RAW = tomllib.loads(TEXT)


@pytest.fixture(scope="module")
def case():
    return case_of(RAW, BUNDLED)


@pytest.fixture(scope="module")
def dials(case):
    return dials_of(RAW, case, "local")


def changed_lines(values, dials, name="local"):
    text = saved_text(TEXT, RAW, turned(RAW, name, dials, values))
    lines = unified_diff(TEXT.splitlines(), text.splitlines(), n=0, lineterm="")
    return [line for line in lines if not line.startswith(("---", "+++", "@@"))], text


def test_a_dial_stands_where_the_file_has_it(dials):
    stands = {of.key: (of.value, of.unit) for of in dials}
    assert stands["load"] == (112.0, "kW")
    assert stands["depth"] == (4.0, "mm")
    assert stands["zone 1:16 depth"] == (16.0, "mm")
    assert stands["zone 7:42 width"] == (22.0, "deg")
    assert stands["hold"] == ("pressed clear of the ties", "")
    assert stands["interference"] == (24.0, "um")
    assert stands["material"] == ("6061-T6", "")
    assert stands["slot width"] == (5.0, "mm")
    assert stands["slot 6 arc"] == (40.0, "deg")
    assert stands["bore"] == ("bore 1: least wall 2.5 mm at 7:42", "")
    for dial in dials:
        assert not dial.unit or dial.least <= dial.value <= dial.most


def test_nothing_moved_changes_nothing(dials):
    assert turned(RAW, "local", dials, {}) == RAW
    same = {of.key: of.value for of in dials}
    assert turned(RAW, "local", dials, same) == RAW
    assert moved_of(dials, same) == {}
    assert saved_text(TEXT, RAW, RAW) == TEXT


@pytest.mark.parametrize(
    ("values", "lines"),
    [
        ({"depth": 6.5}, ['-depth = "4 mm"', '+depth = "6.5 mm"']),
        ({"load": 131.0}, ['-power = "112 kW"', '+power = "131 kW"']),
        ({"interference": 24.5}, ['-interference = "24 um"', '+interference = "24.5 um"']),
        ({"zone 7:42 width": 25.0}, ['-width = "22 deg"', '+width = "25 deg"']),
        ({"material": "7075-T6"}, ['-material = "6061-T6"', '+material = "7075-T6"']),
        ({"slot 1 arc": 10.0}, ['-arc = "14 deg"', '+arc = "10 deg"']),
        ({"slot 2 arc": 3.0}, ['+arc = "3 deg"']),
        (
            {"bore": "bore 3: least wall 2.5 mm at 7:42"},
            ["-firing_bore = 1", "+firing_bore = 3"],
        ),
        (
            {"hold": ALL_ROUND},
            [
                '-ties = { clearance = "50 um" }  # pressed, the ends bend the ties and crack '
                "their roots"
            ],
        ),
    ],
    ids=lambda of: "+".join(of) if isinstance(of, dict) else "",
)
def test_saving_touches_the_moved_keys_alone(dials, values, lines):
    found, text = changed_lines(values, dials)
    assert found == lines
    assert text.count("#") == TEXT.count("#") - sum(
        line.count("#") for line in lines if line[0] == "-"
    )


def test_a_comment_behind_a_moved_value_stays():
    text = saved_text(
        'a = "1 mm"  # mine\nb = 2 # too\n', {"a": "1 mm", "b": 2}, {"a": "2 mm", "b": 2}
    )
    assert text == 'a = "2 mm"  # mine\nb = 2 # too\n'


def test_a_zone_as_deep_as_the_insert_is_none(dials):
    made = turned(RAW, "local", dials, {"zone 1:16 depth": 4.0})
    assert [of["clock"] for of in made["design"][2]["zone"]] == ["7:42"]
    assert tomllib.loads(saved_text(TEXT, RAW, made)) == made
    deeper = turned(RAW, "local", dials, {"depth": 17.0})
    assert "zone" not in deeper["design"][2]


def test_a_zone_is_added_behind_a_cut(case):
    dials = dials_of(RAW, case, "uniform")
    assert "zone 1:16 depth" in [of.key for of in dials]
    made = turned(RAW, "uniform", dials, {"zone 1:16 depth": 12.0, "zone 1:16 width": 30.0})
    assert made["design"][1]["zone"] == [
        {"clock": "1:16", "width": "30 deg", "depth": "12 mm", "blend": "8 deg"}
    ]
    assert tomllib.loads(saved_text(TEXT, RAW, made)) == made
    assert case_of(made, BUNDLED).designs[1].insert.zones[0].depth == 12.0


def test_bonded_and_back(dials):
    bonded = turned(RAW, "local", dials, {"hold": BONDED})
    assert bonded["design"][2]["fit"] == {"bonded": True, "tolerance": "5 um", "friction": 0.15}
    text = saved_text(TEXT, RAW, bonded)
    assert tomllib.loads(text) == bonded
    again = case_of(bonded, BUNDLED)
    pressed = turned(
        bonded, "local", dials_of(bonded, again, "local"),
        {"hold": ALL_ROUND, "interference": 20.0},
    )  # fmt: skip
    assert pressed["design"][2]["fit"]["interference"] == "20 um"
    assert "bonded" not in pressed["design"][2]["fit"]
    case_of(pressed, BUNDLED)


def test_a_case_with_no_insert_gets_one():
    text = TEXT[: TEXT.index('[[design]]\nname = "uniform"')]
    raw = tomllib.loads(text)
    assert movable(raw) == []
    dials = dials_of(raw, case_of(raw, BUNDLED), "insert")
    assert next(of for of in dials if of.key == "hold").value == ONE_PIECE
    made = turned(raw, "insert", dials, {"depth": 5.0, "hold": ALL_ROUND})
    case = case_of(made, BUNDLED)
    assert [of.name for of in case.designs] == ["bare", "insert"]
    assert case.designs[1].insert.depth == 5.0
    assert tomllib.loads(saved_text(text, raw, made)) == made


def test_an_inch_case_is_moved_in_inches():
    text = TEXT
    for mm in ("87 mm", "2.5 mm", "6 mm", "9 mm", "8 mm", "12 mm", "4 mm", "5 mm", "16 mm"):
        text = text.replace(f'"{mm}"', f'"{float(mm.split()[0]) / 25.4:.9g} in"')
    raw = tomllib.loads(text)
    dials = {of.key: of for of in dials_of(raw, case_of(raw, BUNDLED), "local")}
    assert dials["depth"].unit == "in"
    assert dials["depth"].value == pytest.approx(4 / 25.4)
    assert dials["interference"].unit == "thou"
    assert dials["depth"].read("1/4 in") == 0.25
    assert dials["depth"].read("0.2") == 0.2
    made = turned(raw, "local", list(dials.values()), {"depth": 0.25})
    assert made["design"][2]["depth"] == "0.25 in"


@pytest.mark.parametrize("typed", ["deep", "5 bar", "5,5", "nan", ""])
def test_what_is_no_value_is_refused_in_words(dials, typed):
    depth = next(of for of in dials if of.key == "depth")
    with pytest.raises(ValueError, match=r"\w+ \w+"):
        depth.read(typed)


@pytest.mark.parametrize(
    ("values", "key", "words"),
    [
        ({"slot width": 8.9}, "slot width", "Make it at most"),
        ({"interference": 3000.0}, "interference", "outside 0 to 2000 um"),
        ({"load": 5e5}, "load", "outside 0.1 to 100000 kW"),
        ({"zone 7:42 width": 400.0}, "zone 7:42 width", "outside"),
        ({"depth": -1.0}, "depth", "outside"),
    ],
    ids=str,
)
def test_a_fault_is_beside_its_dial(dials, values, key, words):
    made = turned(RAW, "local", dials, values)
    with pytest.raises(CaseError) as refused:
        draw_all(case_of(made, BUNDLED), lambda name, stage: None)
    found = {dial_of(of, made, "local", dials): of.text for of in refused.value.faults}
    assert words in found[key]
