"""Every bore in turn: order, choice, what is told, and that a stated bore is rated alone."""

import html
import json
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from inspected import TWO
from pictured import fits_a_narrow_screen

from cases import read_case, solve_case
from cases.bores import SUBJECT
from cases.bores.choose import order_of
from cases.bores.given import as_stated, every_bore, firing
from cases.bores.result import BoresFound, ByBore, RankedSpot
from cases.bores.words import chosen_words, limit_at, shift_costs, stated_words, worse_words
from cases.cli import main
from cases.report.rated import inputs_hash
from cases.report.results import results_dict
from cases.report.terminal import print_result
from cases.verdict.read import verdict_of
from cases.verdict.words import sentence

EVERY = (
    TWO.replace("firing_bore = 2\n", "")
    .replace("bores = [1]", "bores = [2]")
    .replace('depth = "24 mm"\nmesh', 'tolerance = "10 %"\ndepth = "24 mm"\nmesh')
    + '[rating]\ndraws = 50\n[[design]]\nname = "bare"\n'
)


def spot(bore, share):
    return RankedSpot(
        bore=bore, share=share, part="barrel", clock="4:30", principal_mpa=100.0 * share
    )


def by_bore(bore, factor, by="solid"):
    return ByBore(
        bore=bore, by=by, factor=factor, pressure_mpa=10 * factor if factor else None,
        governing="barrel at 4:30", spot=spot(bore, 1.0),
    )  # fmt: skip


def test_bores_are_ranked_by_what_all_designs_use():
    one = [spot(1, 0.8), spot(2, 1.0), spot(3, 0.5)]
    two = [spot(1, 0.3), spot(2, 0.2), spot(3, 0.1)]
    # 0.8 + 1, 1 + 2/3 and 0.5 + 1/3 (derived)
    assert order_of([one, two]) == [1, 2, 3]
    assert order_of([one]) == [2, 1, 3]
    assert order_of([[spot(1, 1.0), spot(2, 1.0)]]) == [1, 2]


@pytest.fixture(scope="module")
def rated(tmp_path_factory):
    """The bank of two rated by its section: what was said, results, page, case."""
    folder = tmp_path_factory.mktemp("every")
    (folder / "two.toml").write_text(EVERY)
    arguments = ["rate", str(folder / "two.toml"), "--out", str(folder / "out"), "--section"]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    results = json.loads((folder / "out" / "results.json").read_text())
    page = html.unescape((folder / "out" / "report.html").read_text())
    return " ".join(done.output.split()), results, page, read_case(folder / "two.toml")


def test_the_bore_with_the_cut_is_found_and_rated(rated):
    """Only bore 2 has a relief cut, which leaves 4.5 of 7 mm."""
    _, results, _, _ = rated
    assert (results["rated_bore"], results["runner_up_bore"]) == (2, 1)
    assert not results["bores_alike"]
    (design,) = results["designs"]
    one, two = design["by_bore"]
    assert (one["bore"], two["bore"]) == (1, 2)
    assert (one["by"], two["by"]) == ("section", "section")
    assert two["factor"] < 0.9 * one["factor"]
    # judged without draws on the same section, so the limit is the rating's nominal one
    assert two["factor"] == pytest.approx(design["rating"]["limit"]["nominal_factor"], rel=0.02)
    assert two["spot"]["principal_mpa"] > one["spot"]["principal_mpa"]


def test_what_is_told_is_what_was_found(rated):
    said, results, page, _ = rated
    one, two = results["designs"][0]["by_bore"]
    words = (
        f"Rated by bore 2, the worst of 2 fired in turn: bare {10 * two['pressure_mpa']:.0f} bar "
        f"there, {10 * one['pressure_mpa']:.0f} bar at the runner-up, bore 1."
    )
    assert words in said
    assert words in words_of(page)
    for of in (one, two):
        row = (
            f"bare {of['bore']} {10 * of['pressure_mpa']:.0f} bar section {of['governing']} "
            f"{of['spot']['principal_mpa']:.0f}"
        )
        assert row in words_of(page)
    assert re.search(r"shifted 0\.5 mm further .* take about \d+ % off bare", page)
    assert "bores.svg" in results["files"]


def words_of(page):
    return " ".join(re.sub("<[^>]+>", " ", page).split()).replace(" ,", ",")


def test_a_stated_bore_that_is_not_the_worst_is_told_first(rated, capsys):
    """Bore 1, which has no relief cut; nothing but one bore fires in a bank that is stated so."""
    *_, case = rated
    ranked = [replace(spot(1, 0.5), clock="7:42"), spot(2, 0.6)]
    words = stated_words(ranked, 1)
    assert words.startswith("Rated by bore 1 alone, as firing_bore states, and bore 2 is worse: ")
    assert "the barrel there uses 1.20 times as much of its strength, at 4:30" in words
    assert stated_words(ranked, 2).endswith("sections in one piece rank no other bore as worse.")
    stated = read_case_of(case, EVERY.replace("bores = 2\n", "bores = 2\nfiring_bore = 1\n", 1))
    assert SUBJECT.asked(stated, rate=True)
    assert not SUBJECT.asked(stated, rate=False)
    assert not SUBJECT.asked(case, rate=True)
    result = solve_case(stated, rate=True)
    verdict = verdict_of(result)
    (told,) = verdict.told_first
    assert SUBJECT.first_lines(result) == [told]
    assert sentence(verdict).endswith("of the bore that was rated; another is worse, see below.")
    assert told.startswith("Rated by bore 1 alone, as firing_bore states, and bore 2 is worse: ")
    one, two = results_dict(result)["designs"][0]["ranked_bores"]
    assert f"uses {two['share'] / one['share']:.2f} times as much" in told
    print_result(result)
    said = " ".join(capsys.readouterr().out.split())
    assert said.count(told) == 1
    assert said.index(told) < said.index("What would change this")


def test_what_was_rated_is_of_the_case_as_it_is_stated(rated):
    _, results, _, case = rated
    assert every_bore(case)
    assert results["inputs_hash"] == inputs_hash(case) == inputs_hash(firing(case, 2))
    assert as_stated(firing(case, 2)).block.firing_bore == 1
    stated = read_case_of(case, EVERY.replace("bores = 2\n", "bores = 2\nfiring_bore = 1\n", 1))
    assert not every_bore(stated)
    assert inputs_hash(stated) != inputs_hash(firing(stated, 2))


def read_case_of(case, text):
    path = case.source_path.with_name("stated.toml")
    path.write_text(text)
    return read_case(path)


def test_a_stated_bore_and_a_single_one_are_rated_alone(tmp_path):
    for text in (
        EVERY.replace("bores = 2\n", "bores = 2\nfiring_bore = 2\n", 1),
        re.sub(r'^(bores = 2|pitch = .*|bores = \[2\])\n', "", EVERY, flags=re.M),
    ):  # fmt: skip
        path = tmp_path / "case.toml"
        path.write_text(text)
        assert not every_bore(read_case(path))


def test_a_run_that_rates_nothing_says_that_bore_1_fires(tmp_path):
    from cases.bores import SUBJECT

    path = tmp_path / "case.toml"
    path.write_text(EVERY)
    case = read_case(path)
    assert "Bore 1 fires" in SUBJECT.ignored(case, rate=False)
    assert SUBJECT.ignored(case, rate=True) == ""


def test_a_design_that_is_worse_at_the_other_bore_is_named():
    found = BoresFound(
        rated=2, runner_up=3, design="local", alike=True,
        by_design={
            "bare": (by_bore(1, 1.0, "rank"), by_bore(2, 0.9), by_bore(3, 0.7)),
            "local": (by_bore(1, 1.6, "rank"), by_bore(2, 1.30), by_bore(3, 1.33)),
        },
    )  # fmt: skip
    assert chosen_words(found) == (
        "Rated by bore 2, the worst of 3 fired in turn: local 130 bar there, 133 bar at the "
        "runner-up, bore 3; no difference that a coarse solid tells."
    )
    (words,) = worse_words(found)
    assert words.startswith("bare carries less when bore 3 fires: 70 bar against 90 bar at bore 2")
    assert "set firing_bore = 3" in words
    assert limit_at(by_bore(1, None)) == "no limit found"


def test_half_a_millimetre_more_shift_costs_as_thinner_walls_do():
    """Walls 0.3 mm either way move the limit by a tenth: 0.5 mm take 1 - 0.9^(5/3) (derived)."""
    band = SimpleNamespace(shifts={"wall thickness": (0.9, 1.0, 1 / 0.9)})
    design = SimpleNamespace(name="bare", found={"rating": SimpleNamespace(told_band=band)})
    case = SimpleNamespace(given={}, block=None)
    ((name, share),) = shift_costs(SimpleNamespace(case=case, designs=[design]))
    assert name == "bare"
    assert share == pytest.approx(1 - 0.9 ** (5 / 3))


def test_the_page_says_what_the_next_bore_pushes(rated):
    _, results, page, _ = rated
    (design,) = results["designs"]
    pushed = design["rating"]["next_bore_pushes"]
    words = f"of what its own gas pulls there: bare {100 * pushed:.1f} %."
    assert (words in words_of(page)) == (pushed > 0)


def test_the_picture_shows_each_limit_and_which_were_judged():
    from cases.bores.figures import bores_figure

    bores = (by_bore(1, 1.0, "rank"), by_bore(2, 0.9), by_bore(3, 0.7))
    found = BoresFound(rated=3, runner_up=2, design="bare", alike=False, by_design={"bare": bores})
    figure = bores_figure(found)
    assert fits_a_narrow_screen(figure)
    (axes,) = figure.axes
    line, *dots = axes.lines
    assert line.get_ydata() == pytest.approx([100, 90, 70])  # bar
    assert [dot.get_markerfacecolor() == "white" for dot in dots] == [True, False, False]
    assert axes.get_ylabel() == "limit, peak pressure [bar]"


@pytest.fixture
def chosen(monkeypatch):
    """Chooses among bores of given shares of strength and limits, both by design."""
    from cases.bores import choose

    def of(shares, limits):
        designs = [SimpleNamespace(name=name) for name in shares]
        case = SimpleNamespace(designs=designs, block=None)

        def judge(bore):
            ratings = [
                SimpleNamespace(solid=True, stands=SimpleNamespace(factor=limit) if told else None)
                for limit in (limits[name][bore] for name in shares)
                for told in [limit is not None]
            ]
            return SimpleNamespace(designs=ratings)

        load = SimpleNamespace(line_load=0.0)
        monkeypatch.setattr(choose, "gas_load", lambda case: load)
        monkeypatch.setattr(choose, "firing", lambda case, bore: bore)
        monkeypatch.setattr(choose, "rating_of", lambda design: design)
        monkeypatch.setattr(choose, "told_governs", lambda rating: "barrel")
        monkeypatch.setattr(
            choose, "stands", lambda load, factor: SimpleNamespace(pressure_mpa=10 * factor)
        )
        monkeypatch.setattr(
            choose, "ranked",
            lambda case, design, load: [
                spot(bore, share) for bore, share in enumerate(shares[design.name], 1)
            ],
        )  # fmt: skip
        return choose.choose_bore(case, judge)

    return of


def test_the_block_is_rated_by_the_bore_where_the_best_design_carries_less(chosen):
    found = chosen(
        {"bare": (0.5, 1.0, 0.8), "ring": (0.3, 0.4, 0.5)},
        {"bare": {2: 0.6, 3: 0.9}, "ring": {2: 1.5, 3: 1.2}},
    )
    assert (found.rated, found.runner_up, found.design) == (3, 2, "ring")
    assert not found.alike
    ((name, other, own),) = found.worse_elsewhere()
    assert (name, other.bore, own.bore) == ("bare", 2, 3)
    # a bore that was not judged: by its stress beside that of the worst judged one (derived)
    one = found.by_design["bare"][0]
    assert (one.by, one.factor) == ("rank", pytest.approx(0.6 * 1.0 / 0.5))
    assert one.pressure_mpa == pytest.approx(12.0)


def test_two_bores_within_what_a_coarse_solid_tells_are_alike(chosen):
    found = chosen({"bare": (0.9, 1.0, 0.2)}, {"bare": {1: 1.03, 2: 1.0}})
    assert (found.rated, found.alike) == (2, True)
    assert found.worse_elsewhere() == ()


def test_a_bore_without_a_limit_carries_more_than_any(chosen):
    found = chosen({"bare": (0.9, 1.0)}, {"bare": {1: 3.0, 2: None}})
    assert (found.rated, found.runner_up, found.alike) == (1, 2, False)
    neither = chosen({"bare": (0.9, 1.0)}, {"bare": {1: None, 2: None}})
    assert (neither.rated, neither.alike) == (2, True)
    assert "bare no limit found there" in chosen_words(neither)
    none = chosen({"bare": (0.9, 1.0), "ring": (0.2, 0.3)},
                  {"bare": {1: 0.0, 2: 0.5}, "ring": {1: 1.0, 2: 0.9}})  # fmt: skip
    assert (none.rated, none.design) == (2, "ring")
    assert [name for name, _, _ in none.worse_elsewhere()] == ["bare"]
