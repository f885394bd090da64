"""A job as built: measured sizes solved again, the press measured against what was predicted."""

import json
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BLOCK, FIT, RING, TIES
from pictured import fits_a_narrow_screen
from scipy.integrate import simpson
from scipy.stats import norm
from unswept import solve_unswept

from cases import read_case
from cases.base.faults import CaseError
from cases.base.spoken import Spoken
from cases.base.subject import Work
from cases.base.templates import render
from cases.life.given import InsertFit, MeasuredPiece, SideFit, life_given
from cases.life.life import fits_of
from cases.life.result import service_of
from cases.life.steps import PRESSED
from cases.record.built import (
    built_of,
    by_clock,
    measured_pieces,
    measured_sides,
    orders_of,
    pressed_diameters,
    with_built,
)
from cases.record.chapter import built_chapter, record_chapter
from cases.record.distortion import PRIOR, SCATTERS, distortion_factor
from cases.record.entry import entry
from cases.record.figures import built_figure
from cases.record.lines import built_words, record_lines
from cases.record.restate import restate
from cases.record.result import record_of
from cases.report.results import results_dict
from cases.solid.result import DesignSolid
from cases.store.file import Job, Line, opened
from fea.contact.pairs import Fit, overlaps_at
from geometry.clock import clock_to_angle, format_clock

CASE = f"""\
{BLOCK.replace("10 %", "20 %")}{TIES}{RING}{FIT}[record]
store = "shop.sqlite"
job = "118"
"""
CLOCKS = np.arange(12) / 2  # every 15 degrees over half a turn [h]


def bore(stage, clock, diameter, number="1", depth="5 mm"):
    typed = {
        "stage": stage, "bore": number, "clock": format_clock(clock), "depth": depth,
        "diameter": f"{diameter:.5f} mm",
    }  # fmt: skip
    return entry("bore", typed, who="R", date="2026-03-01", instrument="bore gauge")


def piece(side, insert, number="1", bore_="1"):
    typed = {
        "bore": bore_, "piece": number, "side": side, "pocket": "100.000 mm",
        "insert": f"{insert:.4f} mm",
    }  # fmt: skip
    return entry("piece", typed, who="R", date="2026-03-01", instrument="micrometer")


def job_of(lines):
    kept = [
        Line(number=at, kept="", kind=new.kind, date=new.date, who="R", said=new.said)
        for at, new in enumerate(lines, 1)
    ]
    return Job(number="118", lines=tuple(kept))


def grown(clock):
    """Growth by the press, of orders 0, 2, 3 and 4. [um]."""
    angle = clock_to_angle(clock)
    return (
        -10 + 4 * np.cos(2 * angle) + 3 * np.sin(2 * angle) + 1.5 * np.cos(3 * angle)
        + 0.7 * np.sin(4 * angle)
    )  # fmt: skip


def diameters(growth):
    """A bore across 12 diameters before and after, two readings before."""
    across = growth(CLOCKS) + growth(CLOCKS + 6)
    return [
        bore(stage, clock, 80 + off + 1e-3 * change)
        for clock, change in zip(CLOCKS, across, strict=True)
        for stage, off, change in (
            ("before press", 1e-3, 0.0), ("before press", -1e-3, 0.0), ("after press", 0.0, change)
        )
    ]  # fmt: skip


def test_half_the_change_of_a_diameter_has_the_even_orders():
    told = pressed_diameters(job_of(diameters(grown)), 1, 24.0)
    clocks, measured = by_clock(told)
    assert clocks == pytest.approx(CLOCKS)
    assert {depth for _, depth in told} == {5.0}
    even = (grown(CLOCKS) + grown(CLOCKS + 6)) / 2
    assert measured == pytest.approx(even, abs=0.006)  # diameters are typed to 0.01 um
    orders = {one.order: one for one in orders_of(clocks, measured, 2 * even)}
    assert list(orders) == [0, 2, 4, 6, 8, 10]
    assert orders[0].measured_um == pytest.approx(-10, abs=0.01)
    assert orders[2].measured_um == pytest.approx(5, abs=0.01)  # 3, 4, 5
    assert orders[4].measured_um == pytest.approx(0.7, abs=0.01)
    assert orders[6].measured_um == pytest.approx(0, abs=0.01)
    assert orders[2].predicted_um == pytest.approx(10, abs=0.01)
    assert orders[2].ratio == pytest.approx(0.5, abs=0.001)


def test_what_was_not_measured_before_and_after_does_not_count():
    lines = [
        bore("before press", 1, 80.0), bore("after press", 2, 80.0),  # unlike places
        bore("before press", 3, 80.0, depth="30 mm"), bore("after press", 3, 80.0, depth="30 mm"),
        bore("before press", 4, 80.0, number="2"), bore("after press", 4, 80.0, number="2"),
    ]  # fmt: skip
    told = pressed_diameters(job_of(lines), 1, 24.0)
    assert told == {}
    clocks, measured = by_clock(told)
    assert clocks.size == measured.size == 0
    assert orders_of(clocks, measured, measured) == ()


def test_sizes_as_made_are_counted_by_side_of_the_bore_that_fires():
    lines = [piece("barrel", 100.030), piece("barrel", 100.040, "2"), piece("tie", 99.95),
             piece("barrel", 100.2, bore_="2")]  # fmt: skip
    sides = measured_sides(job_of(lines), 1)
    assert sides == {"barrel": [0.03, 0.04], "tie": [-0.05]}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    (folder / "case.toml").write_text(CASE)
    with opened(folder / "shop.sqlite", make=True) as record:
        for number in ("118", "119"):
            record.new(number, entry("block", {"block": "B"}, who="R", date="2026-01-01"))
        design = entry("design", {"design": "ring"}, who="R", date="2026-01-02")
        record.add("118", [design, piece("barrel", 100.030), piece("barrel", 100.034, "2")])
    return folder


@pytest.fixture(scope="module")
def solved(folder):
    """Solved as built; then a bore measured that grew by 1.2 times what was predicted."""
    case = with_built(read_case(folder / "case.toml"))
    drawn = solve_unswept(case)
    shape = service_of(drawn.designs[-1]).step(PRESSED).bore

    def growth(clock):
        return 1.2 * np.interp(clock, shape.clock_hours, shape.growth_um, period=12)

    with opened(folder / "shop.sqlite") as record:
        record.add("118", diameters(growth))
    return again(drawn)


def again(solved):
    """The same with what its record says now."""
    work = Work(case=solved.case, found=solved.found, tell=lambda *_: None, designs=solved.designs)
    return replace(
        solved, found={**solved.found, "record": restate(work, solved.case.given["record"].store)}
    )


def test_a_case_gets_the_design_as_built_beside_the_drawn_one(folder):
    drawn = read_case(folder / "case.toml")
    case = with_built(drawn)
    assert [design.name for design in case.designs] == ["ring", "ring as built"]
    fits = life_given(case).fits
    assert fits["ring"] == life_given(drawn).fits["ring"]
    built = fits["ring as built"]
    assert built.sides["barrel"].interference == pytest.approx(0.032)
    assert built.sides["outer wall"] == fits["ring"].sides["outer wall"]
    assert built.tolerance == 0.0
    assert {piece.number: dict(piece.sides) for piece in built.pieces} == {
        1: {"barrel": pytest.approx(0.030)}, 2: {"barrel": pytest.approx(0.034)},
    }  # fmt: skip
    assert "barrel" not in built.pressed


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (CASE.replace('name = "ring"', 'name = "rings"'), "Did you mean rings"),
        (CASE.replace(FIT, ""), r"ring has no \[design.fit\]"),
        (CASE.replace("[block]", '[block]\nbores = 2\npitch = "106 mm"'), "the bore that fires"),
    ],
)
def test_a_case_that_the_job_was_not_made_by_is_refused(folder, text, says):
    (folder / "other.toml").write_text(text)
    with pytest.raises(CaseError, match=says):
        with_built(read_case(folder / "other.toml"))


def test_a_job_without_sizes_leaves_the_case_as_it_is(folder):
    (folder / "other.toml").write_text(CASE.replace('"118"', '"119"'))
    case = read_case(folder / "other.toml")
    assert with_built(case) is case


def test_the_ratio_is_what_was_measured_over_what_was_predicted(solved):
    built = record_of(solved).built
    assert built.design == "ring as built"
    assert built.ratio == pytest.approx(1.2, abs=0.005)
    assert built.orders[0].ratio == pytest.approx(1.2, abs=0.01)
    assert built.sides == (("barrel", 40.0, pytest.approx(32.0), 2),)
    assert np.ptp(built.predicted_um) > 0.1
    assert built.pieces == ((1, "barrel", pytest.approx(30.0)), (2, "barrel", pytest.approx(34.0)))


def test_each_piece_presses_by_its_own_size(solved):
    """The piece that is 4 um larger presses harder on each mm of its length."""
    drawn, built = (service_of(design).step(PRESSED).joint.pieces for design in solved.designs)
    first, second = (
        made.pressing_force_n / as_drawn.pressing_force_n
        for made, as_drawn in zip(built, drawn, strict=True)
    )
    assert first < 0.99 * second < second < 1


def test_the_overlap_of_a_pair_is_that_of_the_piece_beside_it():
    side = SideFit(interference=0.04)
    outlines = [((x, 0.0), (x, 1.0), (x + 1, 1.0)) for x in (0.0, 10.0, 20.0)]
    pieces = [
        MeasuredPiece(number=at, outline=outline, sides=sides)
        for at, outline, sides in zip(
            (1, 2, 3), outlines, ({"barrel": 0.05}, {"barrel": 0.03}, {"tie": 0.01}), strict=True
        )
    ]
    fit = InsertFit(sides={"barrel": side, "tie": side}, pressed=(), pieces=tuple(pieces),
                    roughness=(0.005, 0.005))  # fmt: skip
    places = np.array([[0.2, 0.6], [10.5, 1.4], [19.0, 0.5]])
    fits = [Fit(overlap=0.01), *fits_of(fit, ["barrel", "tie"]).values()]
    along = overlaps_at([fits[1]] * 3, places)
    assert along == pytest.approx(np.array([0.042, 0.022, 0.032]) / 2)  # 0.8 * 0.01 is flattened
    assert overlaps_at([fits[0], fits[1], fits[2]], places) == pytest.approx([0.01, 0.011, 0.001])


def test_a_piece_that_the_design_has_not_is_told(folder):
    case = read_case(folder / "case.toml")
    assert [of.number for of in measured_pieces(case, case.designs[0], job_of([]))] == []
    lines = [piece("barrel", 100.03, "3")]
    with pytest.raises(CaseError, match="is of piece 3, and ring has 2 of them"):
        measured_pieces(case, case.designs[0], job_of(lines))


def test_the_solid_is_read_where_each_diameter_was_measured(solved):
    """A press of orders 0 and 2 that fades with depth, measured as 0.9 of it."""
    clock = np.arange(360) / 30
    shape = -10 + 4 * np.cos(2 * clock_to_angle(clock))
    state = SimpleNamespace(
        depth_mm=np.array([0.0, 20.0]), pressed_by_depth=np.array([shape, 0.5 * shape])
    )
    design = solved.designs[-1]
    finding = object.__new__(DesignSolid)
    object.__setattr__(finding, "as_made", state)
    lived = replace(design, found={**design.found, "solid": finding})
    lines = [
        bore(stage, hour, 80 + change, depth=f"{depth:g} mm")
        for depth in (5, 15)
        for hour in CLOCKS
        for stage, change in (
            ("before press", 0.0),
            ("after press", 1.8e-3 * (1 - depth / 40) * np.interp(hour, clock, shape)),
        )
    ]
    job = job_of([entry("design", {"design": "ring"}, who="R", date="2026-01-02"), *lines])
    built = built_of(job, solved.case, [*solved.designs[:-1], lived])
    assert built.ratio == pytest.approx(0.9, abs=0.005)
    assert built.section_ratio != pytest.approx(0.9, abs=0.01)
    assert built.solid_um == pytest.approx(0.75 * np.interp(CLOCKS, clock, shape), abs=0.02)
    orders = {one.order: one for one in built.orders}
    assert orders[2].solid_um == pytest.approx(3.0, abs=0.02)
    assert orders[2].solid_ratio == pytest.approx(0.9, abs=0.02)
    page = render(
        "record/built.html.j2", picture=lambda name: name, **built_chapter(built).contents
    )
    assert f">{orders[2].solid_um:.2f}</td>" in page
    assert "were predicted by the solid; by clock 0.90 times" in built_words(built)
    assert len(built_figure(built).axes[0].lines) == 3


def test_it_is_read_on_the_page_in_the_terminal_and_in_the_results(solved):
    built = record_of(solved).built
    page = render(
        "record/built.html.j2", picture=lambda name: name, **built_chapter(built).contents
    )
    cells = [re.sub(r"<[^>]*>", "", cell) for cell in re.findall(r"<td[^>]*>.*?</td>", page)]
    assert cells[:4] == ["barrel", "+40.0", "+32.0", "2"]
    first = built.orders[0]
    assert cells[4:10] == ["1", "barrel", "+30.0", "2", "barrel", "+34.0"]
    assert cells[10:14] == [
        "0", f"{first.measured_um:.2f}", f"{first.predicted_um:.2f}", f"{first.ratio:.2f}",
    ]  # fmt: skip
    last = cells[-3:]
    assert last == ["5:30", f"{built.measured_um[-1]:.2f}", f"{built.predicted_um[-1]:.2f}"]
    (line,) = record_lines(record_of(solved))
    assert f"by clock {built.ratio:.2f} times what was predicted" in line
    found = results_dict(solved)["built"]
    assert found["ratio"] == pytest.approx(built.ratio, rel=1e-6)
    assert found["orders"][1]["order"] == 2


def test_a_case_in_inches_is_told_of_the_same_bore(solved):
    built = record_of(solved).built
    mean = built.orders[0]
    told = Spoken(length="in", small="thou").told(built_words(built))
    assert f"bore {built.bore} grew in the mean by {mean.measured_um / 25.4:.2f} thou" in told
    assert f"{mean.predicted_um / 25.4:.2f} thou were predicted" in told


def test_it_is_drawn(solved):
    built = record_of(solved).built
    assert fits_a_narrow_screen(built_figure(built))
    by_clock, by_order = built_figure(built).axes
    predicted, measured = by_clock.lines
    assert measured.get_ydata() == pytest.approx(built.measured_um)
    assert predicted.get_ydata() == pytest.approx(built.predicted_um)
    heights = [bar.get_height() for bar in by_order.patches]
    assert heights[len(built.orders) :] == pytest.approx([one.measured_um for one in built.orders])


def test_its_ratio_is_kept_and_moves_the_shops_factor(solved, folder):
    path = folder / "results.json"
    path.write_text(json.dumps(results_dict(solved)))
    line = entry("distortion", {"results": str(path)}, who="R", date="2026-03-02")
    assert line.said["ratio"].inside == pytest.approx(1.2, abs=0.005)
    with opened(folder / "shop.sqlite") as record:
        record.add("118", [line])
    found = record_of(again(solved))
    assert found.ratios == {"118": line.said["ratio"].inside}
    low, middle, high = found.distortion
    assert 1 < middle < 1.2
    assert low < middle < high
    page = render(
        "record/chapter.html.j2", picture=lambda name: name, **record_chapter(found).contents
    )
    assert f"distort the bore {middle:.2f} times as much as predicted" in page
    path.write_text("{}")
    with pytest.raises(CaseError, match="no ratio above 0"):
        entry("distortion", {"results": str(path)}, who="R")


def test_the_factor_on_distortion_against_a_dense_grid():
    """The likelihood written out with scipy.stats, summed by scipy's Simpson rule."""
    ratios = [1.3, 1.1, 1.25, 1.45]
    log_g = np.linspace(-1.2, 1.2, 2001)
    log_tau = np.linspace(*np.log(SCATTERS), 301)
    y, t = np.meshgrid(log_g, log_tau)
    density = norm.pdf(y, 0, PRIOR)
    for ratio in ratios:
        density *= norm.pdf(math.log(ratio), y, np.exp(t))
    heights = simpson(density, x=log_tau, axis=0)
    below = np.cumsum(heights) / heights.sum()
    for share in (0.05, 0.5, 0.95):
        (told,) = distortion_factor(ratios, [share])
        assert math.log(told) == pytest.approx(np.interp(share, below, log_g), abs=2e-3)


def test_before_any_job_the_factor_on_distortion_is_its_prior():
    told = distortion_factor([], (0.05, 0.5, 0.95))
    assert np.log(told) == pytest.approx([-1.644854 * PRIOR, 0, 1.644854 * PRIOR], abs=1e-6)
