"""From ``[search]`` to a space, and from a point to a design; what is refused."""

import re
import tomllib

import pytest
from bench import BARE, BLOCK, HEAT, TIES
from click.testing import CliRunner
from search_stubs import CUT, HANDS, SEARCH, TEXT, UNIFORM

from cases.base.faults import CaseError
from cases.cli import main
from cases.read import case_of, read_case
from cases.search.design import base_table, design_table
from cases.search.given import search_given
from cases.search.space import Choice, Number, spread_points
from cases.search.start import case_to_search, seconds_of

PLAIN = BLOCK + TIES + CUT
ZONED = """\
[[design.zone]]
clock = "2:00"
width = "30 deg"
depth = "14 mm"
"""


def given_of(case_of, *texts):
    return search_given(case_of(*texts))


def made_of(case_of, texts, point, ties=()):
    """The table of a point, and the names that are free."""
    given = given_of(case_of, *texts)
    base = base_table(given, tomllib.loads("".join(texts))["design"])
    return design_table(given, base, point, ties), [of.name for of in given.space]


@pytest.mark.parametrize(
    ("texts", "wanted"),
    [((BARE,), ("limit", "water taken")), ((UNIFORM,), ("limit", "water taken")),
     ((UNIFORM, HEAT), ("limit", "water taken", "temperature"))],
    ids=["bare", "uniform", "heated"],
)  # fmt: skip
def test_an_empty_table_is_filled_from_the_block_and_says_so(case_of, texts, wanted):
    given = given_of(case_of, PLAIN, *texts, "[search]\n")
    assert [of.name for of in given.space] == ["depth", "zone depth", "interference", "hold"]
    assert given.wanted == wanted
    assert given.clocks == (("2:00",),)
    said = "; ".join(given.chosen)
    for words in ("depth 2.8 to 8.8 mm", "up to 22 mm (2:00)", "12 to 36 um", ", ".join(wanted)):
        assert words in said


def test_every_point_of_an_empty_table_reads_as_if_typed(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(PLAIN + BARE + "[search]\n")
    raw, case = case_to_search(path, HANDS, lambda case: None)
    given = search_given(case)
    held = {key: of for key, of in raw.items() if key != "search"}
    zones = set()
    for point in spread_points(given.space, 0, 16):
        table = design_table(given, base_table(given, raw["design"]), point, (12.0, 12.0))
        (design,) = case_of({**held, "design": [table]}, path).designs
        assert design.insert.depth == pytest.approx(point["depth"])
        zones.add(len(design.insert.zones))
        if design.insert.zones:
            assert design.insert.deepest == pytest.approx(point["zone depth"])
    assert zones == {0, 1}


@pytest.mark.parametrize(
    ("point", "fit"),
    [
        ({"interference": 30.0}, {"interference": "30 um", "ties": {"clearance": "50 um"}}),
        ({"interference": 30.0, "hold": "pressed all round"}, {"interference": "30 um"}),
        ({"interference": 30.0, "hold": "bonded"}, {"bonded": True}),
        ({"hold": "pressed all round"}, {"interference": "20 um"}),
    ],
    ids=["fit alone", "all round", "bonded", "hold alone"],
)
def test_how_it_is_held(case_of, point, fit):
    table, _ = made_of(case_of, [TEXT], point)
    assert table["fit"] == {**fit, "friction": 0.15}


def test_zones_shift_widen_and_end(case_of):
    zone = (
        '[[search.zone]]\nclocks = ["2:00"]\ndepth = { least = "5 mm", most = "20 mm" }\n'
        'width = { least = "20 deg", most = "40 deg" }\n'
        'shift = { least = "-6 deg", most = "6 deg" }\n'
    )
    texts = PLAIN, UNIFORM, ZONED, "[search]\n", zone
    point = {"zone depth": 12.5, "zone width": 32.0, "zone shift": -3.0}
    table, free = made_of(case_of, texts, point)
    assert free == ["zone depth", "zone width", "zone shift"]
    (made,) = table["zone"]
    assert made == {"clock": "1:54", "width": "32 deg", "depth": "12.5 mm", "blend": "8 deg"}
    assert "zone" not in made_of(case_of, texts, {**point, "zone depth": 6.0})[0]


def test_a_ring_leaves_so_much_of_the_ties(case_of):
    free = '[search]\nform = ["pieces", "ring"]\ntie_left = { least = "2 mm", most = "7 mm" }\n'
    texts, ties = (PLAIN, UNIFORM, free), (12.0, 10.0)
    for form, depth in (("ring", "7 mm"), ("pieces", "6 mm")):
        table, _ = made_of(case_of, texts, {"form": form, "tie_left": 5.0}, ties)
        assert table["depth"] == depth


def test_slots_and_register_are_those_of_the_base(case_of):
    more = (
        '[[design.slot]]\nclock = "4:00"\nwidth = "4 mm"\n[design.register]\ndepth = "6 mm"\n'
        'barrel = "0.5 mm"\n[search]\nslot_width = { least = "3 mm", most = "6 mm" }\n'
        'register_depth = { least = "6 mm", most = "10 mm" }\nmaterial = ["6061-T6", "2618-T61"]\n'
    )
    point = {"register_depth": 8.0, "slot_width": 5.5, "material": "2618-T61"}
    table, free = made_of(case_of, [PLAIN, UNIFORM, more], point)
    assert free == ["register_depth", "slot_width", "material"]
    assert table["register"]["depth"] == "8 mm"
    assert table["slot"] == [{"clock": "4:00", "width": "5.5 mm"}]
    assert table["material"] == "2618-T61"


BAD = {
    "upside down": ('depth = { least = "9 mm", most = "4 mm" }', "upside down"),
    "alike": ('depth = { least = "4 mm", most = "4 mm" }', "above least by 0.1"),
    "out of range": ('depth = { least = "0 mm", most = "4 mm" }', "outside 0.1 to 500 mm"),
    "nothing free": ('material = ["6061-T6"]', "Nothing is free"),
    "one want": ('wanted = ["limit"]', "Two or three"),
    "a want twice": ('wanted = ["limit", "limit"]', "once"),
    "no such want": ('wanted = ["limit", "price"]', "price"),
    "no such design": ('like = "unifrom"', 'Did you mean "uniform"'),
    "no such metal": ('material = ["6061-T6", "cheese"]', "cheese"),
    "no register": ('register_depth = { least = "4 mm", most = "9 mm" }', "has no register"),
    "no slots": ('slot_width = { least = "4 mm", most = "9 mm" }', "has no water slots"),
    "zone without depth": ('[[search.zone]]\nclocks = ["2:00"]', "Its depth is missing"),
    "more water": ('least_open_water = "110 %"', "100 %"),
}  # fmt: skip


@pytest.mark.parametrize(("line", "said"), BAD.values(), ids=BAD)
def test_what_is_wrong_is_told_with_its_key(case_of, line, said):
    with pytest.raises(CaseError, match=re.escape(said)) as caught:
        case_of(PLAIN, UNIFORM, "[search]\n", line, "\n")
    assert all(fault.path.startswith("search") for fault in caught.value.faults)


@pytest.mark.parametrize("until", ["20", "soon", "0 s", "-3 min"])
def test_a_time_that_is_none_is_refused(until):
    with pytest.raises(CaseError, match="--until"):
        seconds_of(until)
    assert seconds_of("20 min") == 1200
    assert seconds_of(None) is None


def run(path, *more):
    return CliRunner().invoke(main, ["search", str(path), "--out", str(path.parent / "out"), *more])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (PLAIN + UNIFORM, "Add a line [search]"),
        (PLAIN + UNIFORM + SEARCH.replace('"9 mm"', '"3 mm"'), "upside down"),
        (
            PLAIN.replace('bore = "80 mm"', 'bore = "80 mm"\nbores = 2\npitch = "100 mm"')
            + UNIFORM + SEARCH,
            "a search looks at one bore",
        ),
        (PLAIN + UNIFORM + SEARCH + '[solid]\njoint = "one piece"\ntemperature = "cold"\n',
         "it is not rated"),
    ],
    ids=["no search", "bounds", "no bore", "not rated"],
)  # fmt: skip
def test_the_command_refuses_with_status_2_and_leaves_nothing(tmp_path, text, said):
    path = tmp_path / "case.toml"
    path.write_text(text)
    done = run(path)
    assert done.exit_code == 2
    assert said in done.output
    assert not (tmp_path / "out").exists()


def test_other_verbs_say_that_it_is_not_theirs(case_of):
    from cases.search import SUBJECT

    assert "hoopclock search" in SUBJECT.ignored(case_of(TEXT), False)
    assert SUBJECT.ignored(case_of(PLAIN, UNIFORM), False) == ""


def test_values_of_a_number_are_as_a_shop_sets_them():
    depth = Number("depth", 2.8, 8.8, 0.1)
    assert depth.count == 61
    assert [depth.value(at) for at in (0, 3, 60)] == [2.8, 3.1, 8.8]
    assert depth.allows(3.1)
    assert not any(depth.allows(of) for of in (2.7, 3.14, 8.9, "3.1"))
    assert depth.nearest(0.0) == 2.8
    assert depth.nearest(1.0) == 8.8
    assert Choice("form", ("pieces", "ring")).nearest(0.7) == "ring"


def test_reading_is_that_of_a_typed_case(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(TEXT)
    assert read_case(path).name == case_of(case_to_search(path, HANDS, len)[0], path).name


def test_without_draws_nothing_is_looked_for(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(f"{TEXT}[rating]\ndraws = 0\n")
    with pytest.raises(CaseError, match="load that most draws carry"):
        case_to_search(path, HANDS, len)
