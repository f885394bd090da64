"""What the verdict says, of records put together by hand."""

import json
from dataclasses import replace

import pytest
from verdicts import LOCAL, VERDICT, changed

from cases.verdict.data import verdict_dict
from cases.verdict.result import COST, FAILS, MARGINAL, UNKNOWN, WATER
from cases.verdict.terminal import CHANGE, MEASURE, OUTSIDE, PASSED, change_lines, rows_table
from cases.verdict.top import STATUS, carries_cells, costs_cells
from cases.verdict.words import CAUTION, paragraph, sentence

CARRIES = (
    "It carries 164 bar (5 to 95 % of draws: 155 to 215 bar), 431 kW; 150 bar (405 kW) wanted: "
    "96 of 100 draws carry that, 92 are asked."
)
MADE = "local, pressed on barrel, clear of ties, 6.2 to 12.6 um per side, nominal 9.4 um"


def test_line_1_says_what_to_make_how_held_with_what_fit_and_what_it_carries():
    assert sentence(VERDICT) == f"HOLDS: make {MADE}. {CARRIES}"


def test_where_none_holds_line_1_says_the_nearest_and_what_it_lacks():
    few = {"share": 0.61, "limit_bar": 131.4, "limit_factor": 0.87}
    said = sentence(changed({**few, "status": MARGINAL}, status=MARGINAL))
    assert said.startswith(f"MARGINAL: no design holds for sure; nearest is {MADE}. It carries 131")
    assert "61 of 100 draws carry that, 92 are asked. It lacks 19 bar: barrel 1:25, 11.3 mm" in said
    assert said.endswith("down (fatigue, warm) governs.")
    said = sentence(changed({**few, "share": 0.4, "status": FAILS}, status=FAILS))
    assert said.startswith(f"DOES NOT HOLD: no design holds; nearest is {MADE}.")


def test_a_design_by_itself_is_no_nearest_of_several():
    few = {"share": 0.61, "limit_bar": 131.4, "limit_factor": 0.87}
    both = changed({**few, "status": MARGINAL}, status=MARGINAL)
    assert sentence(replace(both, rows=(both.row,))).startswith(f"MARGINAL: {MADE}. It carries 131")


@pytest.mark.parametrize(
    ("by", "why"), [(WATER, "it keeps more water"), (COST, "it is the cheaper to make")]
)
def test_line_1_says_no_difference_and_why_one_is_taken(by, why):
    said = sentence(changed(alike=("uniform",), alike_by=by))
    assert said == (
        f"HOLDS: make {MADE}. {CARRIES} No difference to uniform: local is taken as {why}."
    )


def test_line_1_says_what_the_dearer_one_takes_besides():
    alike = changed(alike=("uniform",), alike_by=COST)
    matched = (*LOCAL.machined, "each piece cut to its pocket")
    dearer = replace(VERDICT.rows[0], design="uniform", machined=matched)
    rows = (dearer, *alike.rows[1:])
    assert sentence(replace(alike, rows=rows)).endswith(
        "taken as it is the cheaper to make: uniform takes each piece cut to its pocket besides."
    )


def test_line_1_says_no_difference_where_none_holds():
    said = sentence(changed({"status": FAILS}, status=FAILS, alike=("uniform",)))
    assert said.endswith("No difference to uniform within draws and errors.")


def test_line_1_of_what_is_not_like_others():
    bare = changed({"held": "", "fit": None})
    assert sentence(bare).startswith("HOLDS: leave the block bare (local). It carries 164")
    beyond = changed({"limit_factor": None, "limit_bar": None, "beyond": 6.0, "share": None})
    assert "It carries more than 6.0 times the 150 bar (405 kW) wanted." in sentence(beyond)
    unknown = changed({"limit_factor": None, "limit_bar": None, "share": None}, status=UNKNOWN)
    assert sentence(unknown).startswith("NOT KNOWN: no limit was found; local, pressed on")
    undrawn = changed({"share": None, "limit_low_bar": None, "limit_high_bar": None})
    nominal = "164 bar, 431 kW; 150 bar (405 kW) wanted: {}, so half of such blocks carry less."
    assert nominal.format("its band was not found") in sentence(undrawn)
    assert nominal.format("nothing is drawn") in sentence(replace(undrawn, draws=0))
    nothing = sentence(changed({"limit_factor": 0.0, "limit_bar": 0.0}, status=FAILS))
    assert "It carries nothing of the 150 bar (405 kW) wanted: fit and heat alone use up" in nothing
    assert "at most 164 bar" in sentence(changed({"at_most": True}))
    assert sentence(changed(also=("uniform",))).endswith("Also holds: uniform, which carries less.")
    ring = replace(LOCAL.fit, measured="on the diameter", iso="H7/p6")
    said = sentence(changed({"fit": ring}))
    assert "6.2 to 12.6 um on the diameter, nominal 9.4 um (nearest ISO fit H7/p6)." in said
    hot = sentence(replace(changed({"doubts": ("crisis",)}, status=MARGINAL), flags=("Heat: ...",)))
    assert "Heat keeps it from holding for sure (crisis). Heat: 1 flag, see below." in hot
    unfit = sentence(changed({"unfit": "a piece is loose", "fit": None}, status=FAILS))
    assert "No interference will do: a piece is loose." in unfit


def test_the_paragraph_stands_alone():
    told = paragraph(replace(VERDICT, flags=("Heat, local: the bore is hot.",)))
    assert told.startswith(sentence(VERDICT).removesuffix("."))
    for words in (
        "Barrel 1:25, 11.3 mm down (fatigue, warm) governs.",
        "At the wanted load it lasts 110 h, 33,000 pulls (warm engine).",
        "The case states 14.1 um per side, outside of what to make; its limit is told for that; at "
        "the nominal 9.4 um it carries 171 bar.",
        "Of 2856 mm2 of open water at the deck it leaves 1204.",
        "To machine: faces of the jacket finished to the fit, 16 mm deep.",
        "Least known: strength of A356-T6, gas pressure, fit.",
        "Measure first: cracks and pores, by dye and pressure: 1 barrel 1:25; wall thickness, by "
        "ultrasound: barrel 1:25, 11.3 mm down.",
        "Heat, local: the bore is hot.",
    ):
        assert words in told
    assert told.endswith(CAUTION)
    assert "\n" not in told


def test_a_row_of_the_terminal_is_that_of_its_design():
    table = rows_table(VERDICT)
    assert table.title == "At 150 bar (405 kW) wanted, by the solid"
    bare, local = table.rows
    assert bare == ("bare", "23", "93", "88-132", "2.1 h", "", "barrel 7:35 11 mm cold")
    assert local == (
        "local", "96", "164", "155-215", "110 h", "6.2-12.6 side", "barrel 1:25 11 mm warm"
    )  # fmt: skip
    mixed = rows_table(changed({"by": "section"})).title
    assert mixed.endswith(
        "by the section, a mean over the depth; of bare by the solid, so don't set them side by "
        "side"
    )
    rows = rows_table(changed({"unfit": "loose", "fit": None, "at_most": True})).rows
    assert rows[1][2] == "<= 164"
    assert rows[1][5] == "none will do"
    assert rows_table(changed({"life_cycles": 400.0})).rows[1][4] == "minutes"
    short = carries_cells(changed({"life_cycles": 400.0}).row, 0.9)
    assert short["life at the wanted load"] == "minutes, below 1000 cycles (warm)"
    assert rows_table(changed({"life_hours": None})).rows[1][4] == "23 million"
    assert rows_table(changed({"share": None})).rows[1][1] == "holds"
    short_of_it = changed({"share": 0.917, "status": MARGINAL})  # of 0.92 that are asked
    assert rows_table(short_of_it).rows[1][1] == "91"
    assert "91 of 100 draws" in carries_cells(short_of_it.row, 0.92)[STATUS]
    assert "91 of 100 draws carry that, 92 are asked" in sentence(short_of_it)


def test_what_would_change_it_and_what_to_measure_are_told_in_order():
    told = change_lines(VERDICT)
    assert told == {
        OUTSIDE: [
            "local: limit and life are of 14.1 um per side, as stated; at the nominal 9.4 um it "
            "carries 171 bar"
        ],
        CHANGE: [
            "strength of A356-T6: 61 % of the spread; if measured to be usual, the limit moves by "
            "+13 %",
            "gas pressure: 27 % of the spread; if measured to be usual, the limit moves by +4 %",
            "fit: 9 % of the spread",
            "assumed rating.casting_quality: 70 % of the strength of cast metal (-43 % of the "
            "limit)",
            "and 1 more assumed, on the page",
        ],
        MEASURE: [
            "1. cracks and pores, by dye and pressure: 1 barrel 1:25",
            "2. wall thickness, by ultrasound: barrel 1:25, 11.3 mm down",
        ],
    }
    assert change_lines(changed({"unfit": "loose"}))[PASSED] == ["local: loose"]


def test_cells_of_the_page_are_those_of_the_design():
    assert carries_cells(LOCAL, 0.9) == {
        "design": "local",
        "carries the wanted load": "holds, 96 of 100 draws",
        "limit": "164 bar (155 to 215 bar)",
        "limit by the shop's engines": "",
        "boost (gauge)": "1.24 bar (1.11 to 1.93 bar)",
        "power": "431 kW (408 kW to beyond)",
        "life at the wanted load": "110 h, 33,000 pulls (warm)",
        "governs": "barrel 1:25, 11.3 mm down (fatigue, warm)",
        "fit to make": "6.2 to 12.6 um per side, nominal 9.4 um; limit and life are of the stated "
        "14.1 um, outside of that; the nominal carries 171 bar",
    }
    assert costs_cells(LOCAL) == {
        "design": "local",
        "held": "pressed on barrel, clear of ties",
        "goes in": "drops in: block at 120 degC, insert at -78.5 degC, 14 um clear a side at the "
        "least",
        "bore": "29 um warm at gas, 34 mm down; the ring follows; the press leaves 9 of 30 um to "
        "hone",
        "hottest": "barrel 176 degC, insert 143 degC",
        "water": "1204 mm2 open at the deck, 146 cm2 of barrel wetted, 23.7 cm3 displaced",
        "pieces": "4 pieces, 158 g",
        "to machine": "faces of the jacket finished to the fit, 16 mm deep",
    }
    tight = replace(LOCAL.drop_in, drops_in=False, least_um=9.2)
    assert costs_cells(replace(LOCAL, drop_in=tight))["goes in"] == (
        "does NOT drop in: block at 120 degC, insert at -78.5 degC, 9 um clear at the tightest "
        "side, 10 um clear asked"
    )
    bare = costs_cells(VERDICT.rows[0])
    assert bare["bore"] == "41 um warm at gas, 17 mm down; the ring does NOT follow"
    helped = replace(VERDICT.rows[0].distortion, ring_follows_with_gas=True)
    helped = costs_cells(replace(VERDICT.rows[0], distortion=helped))
    assert helped["bore"].endswith("down; the ring follows with gas behind it, NOT by itself")
    assert bare["pieces"] == bare["held"] == bare["to machine"] == ""


def test_results_hold_what_is_said_as_numbers():
    told = json.loads(json.dumps(verdict_dict(VERDICT), allow_nan=False))
    assert told["status"] == "holds"
    assert told["design"] == "local"
    assert told["sentence"] == sentence(VERDICT)
    assert told["paragraph"] == paragraph(VERDICT)
    bare, local = told["rows"]
    for row, of in ((bare, VERDICT.rows[0]), (local, LOCAL)):
        for key, value in row.items():
            stated = getattr(of, key, None)
            if isinstance(value, float | str | int) and key != "no_harm":
                assert value == stated, key
    assert local["places"][1]["clock"] == "12:20"
    assert local["fit"]["nominal_um"] == 9.4
    assert local["distortion"]["ring_follows"] is True
    assert "each" not in local
    assert [one["input"] for one in told["spread_by"]] == ["strength of A356-T6", "gas pressure",
                                                            "fit"]  # fmt: skip
    assert told["assumed"][0]["worth_percent"] == -43
    assert told["measure_first"][1]["where"] == "barrel 1:25, 11.3 mm down"
    endless = verdict_dict(changed({"life_cycles": float("inf"), "life_hours": float("inf")}))
    assert endless["rows"][1]["life_cycles"] is None
    assert endless["rows"][1]["no_harm"] is True
    json.dumps(endless, allow_nan=False)
