"""Flow read back from where it is told; the page's chapter alone, nothing of stress is solved."""

import json
from types import SimpleNamespace

import pytest
from bench import HEAT
from gaskets import write_case
from readback import Page, Quantity, faults_of_table

from cases import read_case
from cases.base.templates import render
from cases.gasket.chapter import gasket_chapters
from cases.gasket.data import water_dict
from cases.gasket.result import water_of
from cases.gasket.solve import design_water
from cases.gasket.words import flow_words, gasket_limits, gasket_lines
from cases.verdict.rows import _gasket
from cases.verdict.top import _water

FLOWS = HEAT.replace('coolant_film = "5000 W/(m2 K)"\n', "")


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """A result with nothing but what gaskets say."""
    folder = tmp_path_factory.mktemp("told")
    case = read_case(write_case(folder, FLOWS, '[coolant]\nflow = "60 L/min"\n'))
    designs = [
        SimpleNamespace(
            name=of.name, section=case.section(of), found={"gasket": design_water(case, of)}
        )
        for of in case.designs
    ]
    return SimpleNamespace(case=case, designs=designs)


def chapter(result):
    (one,) = gasket_chapters(result)
    shared = {"picture": str, "number": {}, "case": result.case, "result": result}
    html = render(one.template, **shared | dict(one.contents))
    return Page(f'<h2 id="gasket">Water</h2>{html}')


def test_flow_is_read_back_from_the_page(told):
    tables = [of for of in chapter(told).tables if of.headings[0][0] == "flow"]
    for place, table in enumerate(tables):
        rows = []
        for design in told.designs:
            one = water_of(design).gaskets[place]
            rows.append(
                {
                    "flow": design.name,
                    "through the block [L/min]": f"{60e-6 * one.flow:.1f}",
                    "pressure lost": Quantity(one.lost, "MPa"),
                    **{
                        f"to the head, bore {of.bore} [L/min]": f"{60e-6 * of.flow:.1f}"
                        for of in one.bores
                    },
                    **{
                        f"in its holes, bore {of.bore} [m/s]": f"{of.hole_speed:.2f}"
                        if of.hole_speed
                        else None
                        for of in one.bores
                    },
                    **{
                        f"along the jacket, bore {of.bore} [m/s]": f"{of.jacket_speed:.2f}"
                        for of in one.bores
                    },
                }
            )
        assert not faults_of_table(table, rows)
    assert len(tables) == 2
    assert water_of(told.designs[0]).gaskets[1].bores[1].hole_speed is None  # it has no hole there


def test_flow_is_read_back_from_results_and_terminal(told):
    water = water_of(told.designs[1])
    found = json.loads(json.dumps(water_dict(water)))
    for one, of in zip(found, water.gaskets, strict=True):
        assert one["flow_l_per_min"] == pytest.approx(60)
        assert one["bare_flow_l_per_min"] == pytest.approx(60)
        assert one["pressure_lost_mpa"] == of.lost > one["bare_pressure_lost_mpa"] == of.bare_lost
        for bore, own in zip(one["by_bore"], of.bores, strict=True):
            assert bore["flow_l_per_min"] == pytest.approx(60e-6 * own.flow)
            assert bore["bare_flow_l_per_min"] == pytest.approx(60e-6 * own.bare_flow)
            assert bore["hole_speed_m_per_s"] == own.hole_speed
            assert bore["jacket_speed_m_per_s"] == own.jacket_speed
    early = water.gaskets[0]
    words = flow_words(early)
    assert words.startswith(f"60.0 L/min at {10 * early.lost:.3f} bar lost (bare 60.0 L/min, ")
    assert words in gasket_lines(told)[0]
    assert "orifices with sharp edges" in gasket_limits(told)[0]


def test_the_verdict_tells_the_water_at_the_deck_and_then_through_the_gasket(told):
    row = {**_gasket(told.designs[1]), "open_water_mm2": 217.4}
    least = water_of(told.designs[1]).worst
    rest = {"wetted_barrel_mm2": None, "displaced_mm3": None}
    shown = _water(SimpleNamespace(**row, **rest, held="pressed"))
    through = f"{least.open:.0f} of {least.bare:.0f} mm2 through gasket late"
    assert least.bare > least.open + 10
    assert shown == f"217 mm2 open at the deck, {through}"
    bare = SimpleNamespace(**{**row, **_gasket(told.designs[0])}, **rest, held="")
    whole = water_of(told.designs[0]).worst
    assert _water(bare).endswith(
        f"217 mm2 open at the deck, {whole.open:.0f} mm2 through gasket {whole.gasket}"
    )
    assert _gasket(SimpleNamespace(found={})) == {}
