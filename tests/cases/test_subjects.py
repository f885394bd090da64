"""A subject joins by its folder and a word in the list; nothing else has to know of it.

The subject of this test weighs the metal of each insert: area times depth (derived).
"""

import json
import re
import subprocess
import sys
from dataclasses import dataclass
from itertools import chain

import click
import pytest
from bench import BARE, BLOCK, TIES
from click.testing import CliRunner
from pydantic import Field

from cases.base.faults import CaseError
from cases.base.figures import new_figure
from cases.base.progress import ENDED
from cases.base.subject import Chapter, Column, Subject
from cases.base.tables import Length, Table
from cases.cli import add_verbs
from cases.read import read_case
from cases.report.page import write_report
from cases.report.results import results_dict, write_outputs
from cases.report.terminal import at_a_glance, print_result
from cases.run import plan_of, solve_case
from cases.subjects import SUBJECTS, case_table

INSERT = """\
[[design]]
name = "ring"
depth = "8 mm"
material = "6061-T6"
"""
WEIGHED = """\
[weighing]
blank = "10 mm"
"""


class WeighingTable(Table):
    """``[weighing]``."""

    blank: Length = Field(description='the plate that inserts are cut from, such as "10 mm"')


class WeighingKeys(Table):
    """What the top level gets."""

    weighing: WeighingTable | None = Field(None, description="what inserts are cut from")


class StockKeys(Table):
    """What ``[[design]]`` gets."""

    stock: Length = Field(0.0, description='metal left to be machined, such as "0.2 mm"')


@dataclass(frozen=True)
class Weighed:
    """Metal of an insert."""

    volume_mm3: float


class Weighing(Subject):
    """Weighs inserts."""

    key = "weighing"
    after = ("stress",)
    by_design = True

    def __init__(self, page=None):
        self.page = page

    def table(self):
        return WeighingKeys

    def adds(self):
        return {"design": StockKeys}

    def given(self, table, case, faults):
        if table.weighing is None:
            return None
        deepest = max(design.insert.deepest for design in case.designs if design.insert)
        faults.between(("weighing", "blank"), table.weighing.blank, deepest, 100.0, "mm")
        return table.weighing.blank

    def asked(self, case, rate):
        return case.given["weighing"] is not None

    def stages(self, case):
        return (("weigh", 0.1),)

    def solve(self, work):
        insert, area = work.drawn.section.insert, work.found["stress"].insert_area_mm2
        with work.stage("weigh"):
            return Weighed(area * insert.depth if insert else 0.0)

    def case_data(self, result):
        return {"blank_mm": result.case.given["weighing"]}

    def data(self, result, design):
        return {"insert_mm3": design.found["weighing"].volume_mm3}

    def figures(self, result):
        figure = new_figure(2, 2)
        figure.text(0.1, 0.5, "weighed")
        yield "weighing", figure

    def chapters(self, result):
        return (Chapter(key="weighing", title="Metal", template=self.page, contents={"of": 7}),)

    def columns(self, result, design):
        volume = design.found["weighing"].volume_mm3
        return (Column(heading="metal\n[mm3]", text=f"{volume:.0f}", values=(volume,)),)

    def lines(self, result):
        return ["Weighed."]

    def limits(self, result):
        return ["Chips are not weighed."]

    def cautions(self, result):
        return ["Inserts have sharp edges."]

    def assumed(self, result):
        return [("density", "2.7 g/cm3")]

    def commands(self):
        return (click.Command("weigh", callback=lambda: click.echo("weighed")),)


class Count(Subject):
    """Counts designs; it works on the case as a whole, between two that work by design."""

    key = "count"
    after = ("stress",)

    def asked(self, case, rate):
        return True

    def solve(self, work):
        return len(work.designs)


class Again(Weighing):
    """The same, under another key."""

    key = "again"


@pytest.fixture(scope="module")
def more(tmp_path_factory):
    """The list with one subject more, its template beside it."""
    page = tmp_path_factory.mktemp("weighing") / "chapter.html.j2"
    page.write_text('All numbers are in chapter {{ number["numbers"] }}, {{ of }}.')
    return (*SUBJECTS, Count(), Weighing(page))


@pytest.fixture(scope="module")
def weighed(more, tmp_path_factory):
    path = tmp_path_factory.mktemp("case") / "case.toml"
    path.write_text(BLOCK + WEIGHED + TIES + BARE + INSERT + 'stock = "0.2 mm"\n')
    told = []
    case = read_case(path, more)
    result = solve_case(case, lambda *stage: told.append(stage), subjects=more)
    plan = plan_of(case, False, 1, more)
    assert {stage for _, stage in told} == {
        *plan.before, *(stage for stage, _ in [*plan.each, *plan.once]), ENDED,
    }  # fmt: skip
    assert ("ring", "weigh") in told
    assert result.found["count"] == 2
    return result


def test_its_finding_is_kept_with_each_design(weighed):
    bare, ring = weighed.designs
    assert bare.found["weighing"] == Weighed(0.0)
    assert ring.found["weighing"].volume_mm3 == pytest.approx(8 * ring.insert_area_mm2)


def test_it_is_heard_wherever_results_are_told(weighed, more, tmp_path, capsys):
    write_outputs(weighed, tmp_path, subjects=more)
    results = json.loads((tmp_path / "results.json").read_text(encoding="utf-8"))
    volume = weighed.designs[1].found["weighing"].volume_mm3
    assert results["blank_mm"] == 10
    assert results["designs"][1]["insert_mm3"] == pytest.approx(volume, rel=1e-6)
    assert "Inserts have sharp edges." in results["cautions"]
    assert {"weighing.png", "weighing.svg"} <= set(results["files"])
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    front = len([c for s in SUBJECTS for c in s.chapters(weighed) if not c.appendix])
    assert f"{front + 1}. Metal</h2>" in page
    assert f"All numbers are in chapter {front + 2}, 7." in page
    assert f"{front + 2}. All numbers</h2>" in page
    assert '<th class="n">metal<br>[mm3]</th>' in page
    caption = page[page.index("<caption>At a glance:") : page.index("</caption>")]
    assert '<a href="#weighing">' in caption
    caption = re.sub("<[^>]*>", "", caption)
    assert caption.endswith(f" Metal: section {front + 1}.")
    assert f"one piece with the block: section {front + 2}." in caption
    for words in (f"{volume:.0f}", "Chips are not weighed.", "density: 2.7 g/cm3"):
        assert words in page
    print_result(weighed, more)
    printed = capsys.readouterr().out
    assert "Weighed." in printed
    assert f"{volume:.0f}" in printed


def test_its_keys_stand_in_the_case_file_and_are_checked(more, tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(BLOCK + WEIGHED.replace("10 mm", "5 mm") + TIES + BARE + INSERT)
    with pytest.raises(
        CaseError, match=r"weighing\.blank = \"5 mm\"\n.*5 mm is outside 8 to 100 mm"
    ):
        read_case(path, more)
    with pytest.raises(CaseError, match="There is no such key"):
        read_case(path)


def test_its_verb_joins_the_command(more):
    group = click.Group("hoopclock")
    add_verbs(group, more)
    assert CliRunner().invoke(group, ["weigh"]).output == "weighed\n"


def test_keys_that_collide_are_refused(weighed, more, tmp_path, monkeypatch):
    with pytest.raises(ValueError, match='"weighing" is a key of'):
        case_table((*more, Again()))
    with pytest.raises(ValueError, match="blank_mm twice"):
        results_dict(weighed, (*more, Again()))
    monkeypatch.setattr("cases.report.page._data_address", str)
    with pytest.raises(ValueError, match="two chapters"):
        write_report(weighed, tmp_path, (*more, Again()))


def test_nothing_of_the_subjects_collides(weighed):
    """Keys of subjects, of the case file, of results.json, chapters, columns and pictures."""
    assert len({subject.key for subject in SUBJECTS}) == len(SUBJECTS)
    case_table()
    results_dict(weighed)
    design = weighed.designs[0]
    for what in (
        lambda of: [name for name, _ in chain(of.maps(weighed), of.figures(weighed))],
        lambda of: [column.heading for column in of.columns(weighed, design)],
        lambda of: [chapter.key for chapter in of.chapters(weighed)],
    ):
        told = [name for subject in SUBJECTS for name in what(subject)]
        assert len(set(told)) == len(told)
    headings = at_a_glance(weighed).headings
    assert len(set(headings)) == len(headings)


def test_every_subject_comes_after_those_that_it_reads():
    known = set()
    for subject in SUBJECTS:
        assert set(subject.after) <= known, subject.key
        known.add(subject.key)


def test_the_list_is_light():
    """Help and faults of the input answer at once: no solver, mesher or plotter is imported."""
    heavy = {"skfem", "gmsh", "scipy", "matplotlib", "pydantic"}
    code = f"import cases.subjects, sys; print(*[name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
