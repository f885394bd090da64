"""Every number of the verdict: in results.json against its object, on page and terminal against it.

The page opens with it and the terminal prints it first.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from readback import (
    Page,
    Quantity,
    fault_of_cell,
    fault_of_sentence,
    numbers_left,
    plain,
    told,
)

from cases.bores.result import ranked_of
from cases.bores.words import worse_lines
from cases.fit.lines import SECTION_ONLY
from cases.fit.lines import first_lines as fit_lines
from cases.gas.solve import gas_of
from cases.life.hot import hot_lines
from cases.life.result import service_of
from cases.making.make import made_of
from cases.rating.result import rating_of
from cases.report import page as report
from cases.report.page import write_report
from cases.report.results import results_dict
from cases.report.terminal import print_result, quick_look
from cases.verdict.result import HOLDS

OUTSIDE = "; limit and life are of the stated #, outside of that; the nominal carries #"


def q(value, unit="", digits=None):
    return None if value is None else Quantity(float(value), unit, digits)


def outside(fit):
    """What is told of a stated fit that is not to be made."""
    return q(fit["stated_um"] / 1000, "mm"), q(fit["limit_bar"] / 10, "MPa")


def faults_of_row(named, wanted):
    """Cells by heading that are not what they should be; all headings are known."""
    assert named.keys() == wanted.keys()
    return [
        f"{name}: {fault}" for name in wanted if (fault := fault_of_cell(named[name], wanted[name]))
    ]


@pytest.fixture(scope="module")
def carried(told_result):
    """The design that is fitted carries what is wanted for sure; the bare one in some draws.

    It is fitted by too much.
    """
    deep, bare = told_result.designs
    rating, fits = deep.found["rating"], deep.found["fit"]
    band = replace(
        rating.band, carries=0.937, boost_mpa=(0.083, 0.101, 0.123), known={"gas pressure": 1.043},
        power_kw=(163.0, 181.0, 214.0),
    )  # fmt: skip
    limit = replace(rating.limit, factor=1.083, pressure_mpa=17.31, at_most=False)
    rating = replace(rating, band=band, limit=limit)
    fits = replace(fits, asked_um=fits.points[-1].interference_um)
    deep = replace(deep, found={**deep.found, "rating": rating, "fit": fits})
    return replace(told_result, designs=(deep, bare))


@pytest.fixture(scope="module")
def results(carried):
    return results_dict(carried)


@pytest.fixture(scope="module")
def html(carried, tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(report, "_data_address", lambda path: path.name)
        path = write_report(carried, tmp_path_factory.mktemp("page"))
    return path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


def printed(result, monkeypatch, capsys, columns=500):
    monkeypatch.setenv("COLUMNS", str(columns))
    print_result(result)
    return capsys.readouterr().out


def test_a_row_holds_what_was_found_of_its_design(carried, results):
    found = results["verdict"]
    assert (found["status"], found["design"]) == (HOLDS, "deep")
    gas = gas_of(carried)
    assert found["wanted_bar"] == pytest.approx(10 * gas.read(gas.peak_pressure))
    assert found["wanted_kw"] == pytest.approx(gas.cycle.power, rel=1e-5)
    for design, row, told_of in zip(
        carried.designs, found["rows"], results["designs"], strict=True
    ):
        rating = rating_of(design)
        limit, band = rating.limit, rating.band
        step = next(one for one in service_of(design).steps if one.name == "warm at gas")
        state = min(rating.life_cycles, key=rating.life_cycles.get)
        wanted = {
            "design": design.name, "share": band.carries, "by": "section",
            "limit_factor": limit.factor, "limit_bar": 10 * limit.pressure_mpa,
            "limit_low_bar": 10 * band.pressure_mpa[0],
            "limit_high_bar": 10 * band.pressure_mpa[2],
            "boost_bar": 10 * limit.boost_mpa, "power_kw": limit.power_kw,
            "power_low_kw": band.power_kw[0], "power_high_kw": band.power_kw[2],
            "life_cycles": rating.life_cycles[state], "life_state": state,
            "life_hours": rating.life_cycles[state] / (60 * 7000 / 2),
            "life_pulls": rating.life_cycles[state] / (60 * 7000 / 2) * 300,
            "open_water_mm2": design.open_area_mm2,
            "error": limit.error / limit.factor,
            "hottest_barrel_degc": service_of(design).heat.hottest("barrel").temperature_degc,
        }  # fmt: skip
        for key, value in wanted.items():
            assert row[key] == (value if isinstance(value, str) else pytest.approx(value)), key
        spot = rating.governing.spot
        assert (row["places"][0]["part"], row["places"][0]["clock"]) == (spot.part, spot.clock)
        assert row["distortion"]["out_of_round_um"] == pytest.approx(step.bore.out_of_round_um)
        assert row["distortion"]["ring_follows"] == (step.ring.least_pressure >= 0)
        helped = step.ring.least_pressure_with_gas >= 0
        assert row["distortion"]["ring_follows_with_gas"] == helped
        if design.name == "deep":
            advice = told_of["fit_advice"]
            for key in ("low_um", "nominal_um", "high_um"):
                assert row["fit"][key] == pytest.approx(advice[key]), key  # a ring: see its hole
            made = made_of(with_fit(carried.case, advice["nominal_um"] / 1000), "deep", results, "")
            assert row["drop_in"] == {
                "drops_in": made.drops_in, "block_degc": 120.0, "insert_degc": -195.8,
                "least_um": pytest.approx(1000 * made.least),
                "asked_um": pytest.approx(1000 * made.given.least_clearance),
            }  # fmt: skip
            masses = [piece.mass_g for piece in service_of(design).pieces]
            assert (row["pieces"], row["mass_g"]) == (len(masses), pytest.approx(sum(masses)))
            first = service_of(design).steps[0]
            for piece, state in zip(told_of["pieces"], first.joint.pieces, strict=True):
                assert piece["pressing_force_n"] == pytest.approx(state.pressing_force_n) != 0
                assert piece["hold_n"] == pytest.approx(state.hold_n)
            pressed = first.bore.out_of_round_um
            assert row["distortion"]["pressed_um"] == pytest.approx(pressed)
            assert row["held"].startswith("pressed between")
            assert row["machined"][0] == "faces of the jacket finished to the fit, 8 mm deep"
        else:
            assert (row["fit"], row["pieces"], row["held"], row["machined"]) == (None, 0, "", [])


def test_the_page_opens_with_the_verdict(results, html):
    found = results["verdict"]
    (linked,) = re.findall(r'<p class="line1 holds">(.*?)</p>', html)
    line = re.sub("<[^>]*>", "", linked)
    assert plain(line) == plain(found["sentence"])
    assert html.index(linked) < html.index("<table")
    assert html.index(linked) < html.index("<details")


def with_fit(case, nominal):
    """The same with the fit that is to be made. [mm]."""
    life = case.given["life"]
    fits = {"deep": life.fits["deep"].with_interference(nominal)}
    return replace(case, given={**case.given, "life": replace(life, fits=fits)})


def drops(of):
    """How the cell tells whether an insert drops in."""
    if of is None:
        return None
    clear = q(abs(of["least_um"]) / 1000, "mm")
    lead, end = ("drops in", "# clear a side at the least") if of["drops_in"] else (
        "does NOT drop in",
        f"# {'clear' if of['least_um'] > 0 else 'tight'} at the tightest side, # clear asked",
    )  # fmt: skip
    at = q(of["block_degc"], "degC"), q(of["insert_degc"], "degC")
    asked = [] if of["drops_in"] else [q(of["asked_um"] / 1000, "mm")]
    return told(f"{lead}: block at #, insert at #, {end}", *at, clear, *asked)


def test_every_cell_of_the_page_is_that_of_results(results, page):
    carries, costs = [table for table in page.tables if table.chapter == "verdict"]
    rows = results["verdict"]["rows"]
    faults = []
    for row, cells in zip(rows, carries.rows, strict=True):
        named = dict(zip([name for name, _ in carries.headings], cells, strict=True))
        low, high = row["limit_low_bar"], row["limit_high_bar"]
        first = row["places"][0]
        fit = row["fit"]
        power_high = row["power_high_kw"]
        boost = row["boost_low_bar"]
        life = row["life_cycles"]
        wanted = {
            "design": row["design"],
            "carries the wanted load": told(
                f"{row['status']}, # of # draws", q(100 * row["share"]), q(100)
            ),
            "limit": told(
                "# (# to #)", q(row["limit_bar"] / 10, "MPa"), q(low),
                q(high / 10, "MPa"),
            ),
            "boost (gauge)": q(row["boost_bar"] / 10, "MPa") if boost is None else told(
                "# (# to #)", q(row["boost_bar"] / 10, "MPa"), q(boost),
                q(row["boost_high_bar"] / 10, "MPa"),
            ),
            "power": told(
                f"# (# to {'beyond' if power_high is None else '#'})",
                q(row["power_kw"] * 1000, "W"),
                q(1000 * row["power_low_kw"], "W") if power_high is None
                else q(row["power_low_kw"]),
                *([] if power_high is None else [q(1000 * power_high, "W")]),
            ),
            "life at the wanted load": told(
                f"#, # pulls ({row['life_state']})",
                q(row["life_hours"], "h", 2), q(row["life_pulls"], "", 2),
            ) if 1e3 <= life <= 1e10 else named["life at the wanted load"],
            "governs": f"{first['part']} {first['clock']} ({row['criterion']}, {row['state']})",
            "fit to make": told(
                f"# to # {fit['measured']}, nominal #"
                + (f" (nearest ISO fit {fit['iso']})" if fit["iso"] else "")
                + ("" if fit["inside"] else OUTSIDE),
                q(fit["low_um"]), q(fit["high_um"] / 1000, "mm"),
                q(fit["nominal_um"] / 1000, "mm"),
                *([] if fit["inside"] else outside(fit)),
            ) if fit else None,
        }  # fmt: skip
        faults += faults_of_row(named, wanted)
    for row, cells in zip(rows, costs.rows, strict=True):
        named = dict(zip([name for name, _ in costs.headings], cells, strict=True))
        bore = row["distortion"]
        words, numbers = "# warm at gas; the ring ", [q(bore["out_of_round_um"] / 1000, "mm")]
        words += (
            "follows"
            if bore["ring_follows"]
            else "follows with gas behind it, NOT by itself"
            if bore["ring_follows_with_gas"]
            else "does NOT follow"
        )
        if bore["pressed_um"] is not None:
            words += "; the press leaves # of # to hone"
            numbers += [q(bore["pressed_um"]), q(bore["hone_takes_um"] / 1000, "mm")]
        hot = [row[f"hottest_{part}_degc"] for part in ("barrel", "insert")]
        wanted = {
            "design": row["design"],
            "held": row["held"] or None,
            "goes in": drops(row["drop_in"]),
            "bore": told(words, *numbers),
            "hottest": told(
                "barrel #, insert #" if hot[1] else "barrel #",
                *(q(one, "degC") for one in hot if one),
            ),
            "water": told(
                "# open at the deck, # cm3 displaced", q(row["open_water_mm2"], "mm2"),
                q(row["displaced_mm3"] / 1000),
            ) if row["pieces"] else told("# open at the deck", q(row["open_water_mm2"], "mm2")),
            "pieces": told(
                f"# piece{'s' * (row['pieces'] > 1)}, #", q(row["pieces"]), q(row["mass_g"], "g")
            ) if row["pieces"] else None,
            "to machine": "; ".join(row["machined"]) or None,
        }  # fmt: skip
        faults += faults_of_row(named, wanted)
    assert not faults, "\n".join(faults)


def worse_bore(result):
    """The worst of the bores that the first design ranks; another is stated."""
    (ranked,) = filter(None, (ranked_of(design) for design in result.designs))
    worst = max(ranked, key=lambda of: of.share)
    own = next(of for of in ranked if of.bore == result.case.block.firing_bore)
    return told(
        f"and bore # is worse: by sections in one piece the {worst.part} there uses # times",
        q(worst.bore), q(worst.share / own.share),
    )  # fmt: skip


def test_every_number_beside_the_rows_is_that_of_results(carried, results, page):
    found = results["verdict"]
    row = next(one for one in found["rows"] if one["design"] == found["design"])
    text = "  \u2022 ".join(page.prose["verdict"])
    bar, kw = (q(found["wanted_bar"] / 10, "MPa"), q(found["wanted_kw"] * 1000, "W"))
    fit = row["fit"]
    iso = f" (nearest ISO fit {fit['iso']})" if fit["iso"] else ""
    wanted = [
        *(told(line) for line in hot_lines(carried)),
        worse_bore(carried),
        told("Each design at # (#) wanted. Limit and life are the least of cold and warm, by the "
             "section, a mean over the depth; # and # of the draws", bar, kw, q(5), q(0.95)),
        told(f"nominal #{iso}. It carries # "
             "(# to # of draws: # to #), #; # (#) wanted: # of # draws carry that, # are asked.",
             q(fit["nominal_um"] / 1000, "mm"), q(row["limit_bar"] / 10, "MPa"), q(5), q(0.95),
             q(row["limit_low_bar"]), q(row["limit_high_bar"] / 10, "MPa"),
             q(row["power_kw"] * 1000, "W"), bar, kw, q(100 * row["share"]), q(100),
             q(100 * found["reliability"])),
        told(f"# to # {fit['measured']}", q(fit["low_um"]), q(fit["high_um"] / 1000, "mm")),
        told("Of # of open water at the deck it leaves #.",
             q(found["rows"][1]["open_water_mm2"], "mm2"), q(row["open_water_mm2"])),
        told("finished to the fit, # deep", q(8, "mm")),
        told("Heat: # flag, see below.", q(1)),
    ]  # fmt: skip
    if not fit["inside"]:
        stated = f"The case states # {fit['measured']}, outside of what to make"
        stated += "; its limit is told for that; at the nominal # it carries #"
        more, bar = outside(fit)
        wanted.append(told(stated, more, q(fit["nominal_um"] / 1000, "mm"), bar))
    for one in found["spread_by"]:
        worth = one["worth_percent"]
        moves = "" if worth is None else "; if measured to be usual, the limit moves by #"
        wanted.append(
            told(
                f"{one['input']}: # of the spread{moves}", q(one["share"]),
                *([] if worth is None else [q(worth / 100)]),
            )
        )  # fmt: skip
    valued = [one for one in found["assumed"] if abs(one["worth_percent"] or 0) >= 0.5]
    for one in valued:
        words = f"assumed {one['input']}: {one['stand_in']} (# of the limit)"
        wanted.append(told(words, q(one["worth_percent"] / 100)))
    wanted.append(told("# more assumed", q(len(found["assumed"]) - len(valued))))
    wanted += [told(caution) for caution in results["cautions"]]
    life = row["life_cycles"]
    if 1e3 <= life <= 1e10:
        hours, pulls = q(row["life_hours"], "h", 2), q(row["life_pulls"], "", 2)
        wanted.append(told("At the wanted load it lasts #, # pulls", hours, pulls))
    faults = [fault for one in wanted if (fault := fault_of_sentence(text, one))]
    assert not faults, "\n".join(faults)
    ranked = re.sub(r"(?<!\S)[123]:? (?=[a-z ]+ ~)|\d+(?=\. Limits)|[Bb]ore 2", "~",
                    re.sub(r"\d{1,2}:\d\d", "~", text))  # fmt: skip
    wanted_plain = [replace(one, words=re.sub(r"\d{1,2}:\d\d", "~", one.words)) for one in wanted]
    assert numbers_left(ranked, wanted_plain) == [], ranked


def test_the_terminal_begins_with_the_verdict(carried, results, monkeypatch, capsys):
    found = results["verdict"]
    out = printed(carried, monkeypatch, capsys)
    assert plain(out).startswith(plain(found["sentence"]))
    rows = [re.split(r"\s{2,}|(?<=\w) (?=\d)", line.strip()) for line in out.splitlines()]
    for row in found["rows"]:
        cells = next(one for one in rows if one[0] == row["design"])
        wanted = told("# # #-#", q(100 * row["share"]), q(row["limit_bar"]),
                      q(row["limit_low_bar"]), q(row["limit_high_bar"]))  # fmt: skip
        text = " ".join(" ".join(cells[1:]).split()[:3])
        assert not fault_of_cell(text, wanted)
    for one in found["measure_first"]:
        assert plain(f"{one['what']}: {one['where']}") in plain(out)
    for one in found["spread_by"]:
        assert f"{one['input']}: {100 * one['share']:.0f} % of the spread" in plain(out)


def test_rows_of_the_terminal_fit_80_columns(carried, monkeypatch, capsys):
    out = printed(carried, monkeypatch, capsys, columns=80)
    assert max(map(len, out.splitlines())) <= 80


def test_evidence_is_named_and_comes_after(carried, html, monkeypatch, capsys):
    out = printed(carried, monkeypatch, capsys)
    assert out.index("Measure first") < out.index("Evidence: cold, each insert one piece")
    assert html.index("Measure first") < html.index("cold, each insert one piece with the block")
    for caution in results_dict(carried)["cautions"]:
        assert caution in html or caution.replace("'", "&#39;") in html


def test_flags_of_heat_stand_right_behind_line_1(carried, html, monkeypatch, capsys):
    flags = [*worse_lines(carried), *hot_lines(carried)]
    assert len(flags) == 2
    out = plain(printed(carried, monkeypatch, capsys))
    first = plain(results_dict(carried)["verdict"]["sentence"])
    assert first.endswith("see below.")
    assert out.startswith(f"{first} {plain(flags[0])} {plain(flags[1])}")
    assert out.count(plain(flags[0])) == 1
    line = html.index("see below.")
    assert html.index(flags[0][:60]) - line < 120
    assert html.count(flags[0][:60]) == 2  # there, and to be pasted
    assert html.count(flags[1][:60]) == 3  # and in the chapter about it


def test_a_run_that_rates_nothing_says_what_it_can_t_tell(told_result):
    said = quick_look(told_result)
    assert said.startswith("Quick look: the section alone, cold, each insert one piece with the")
    assert "which one to make: run hoopclock rate. It can't rank these designs either: a" in said
    alone = replace(told_result, designs=told_result.designs[:1])
    assert "rank" not in quick_look(alone)


def test_a_stated_fit_outside_of_its_window_is_told_in_its_row_alone(carried, html):
    """The page has it once before its chapters; the terminal, whose table is narrow, in a line."""
    line, only = fit_lines(carried)
    assert only == SECTION_ONLY
    top = html[: html.index('class="toc"')]
    assert "LIES OUTSIDE" in line
    assert "LIES OUTSIDE" not in top
    assert "outside of that" in top


def test_chapters_have_the_numbers_of_the_table_of_contents(html):
    toc = html[html.index('class="toc"') :]
    listed = re.findall(r'<li><a href="#(\w+)">([^<]+)</a></li>', toc[: toc.index("</ol>")])
    titles = re.findall(r'<h2 id="(\w+)-title">(\d+)\. ([^<]+)</h2>', html)
    wanted = [(key, str(place), title) for place, (key, title) in enumerate(listed, 1)]
    assert titles == wanted
    assert len(wanted) > 10
