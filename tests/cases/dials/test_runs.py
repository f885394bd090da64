"""What the page's buttons run is the command itself, beside the case."""

import asyncio

from cases.dials.runs import Run
from cases.dials.serve import file_within


def test_a_run_writes_beside_the_case_and_says_what_it_said(small):
    run, told = Run(small), []
    asyncio.run(run.start("sheet", "sheet.html", lambda: told.append(len(run.lines))))
    assert run.lines[0] == "hoopclock sheet small.toml"
    assert any("places to measure" in line for line in run.lines)
    assert run.page == "sheet.html"
    assert file_within(run.results, run.page) == small.parent / "small" / "sheet.html"
    assert len(told) >= 3
    assert not run.at_work
    assert run.says == "hoopclock sheet small.toml: done."


def test_a_run_that_is_refused_gives_no_page(small):
    small.write_text(small.read_text().replace("barrel_wall", "barel_wall"))
    run = Run(small)
    asyncio.run(run.start("sheet", "sheet.html", lambda: None))
    assert run.page == ""
    assert run.says == "hoopclock sheet small.toml: it failed, see below."
    assert any("barel_wall" in line for line in run.lines)


def test_a_run_is_ended(small):
    run = Run(small)

    async def ended():
        running = asyncio.create_task(run.start("rate", "report.html", lambda: None))
        while not run.at_work:
            await asyncio.sleep(0.01)
        run.end()
        await running

    asyncio.run(ended())
    assert run.page == ""
    assert not run.at_work


def test_of_a_long_run_the_last_lines_stand_under_its_command(small, monkeypatch):
    monkeypatch.setattr("cases.dials.runs.LAST", 2)
    small.write_text(small.read_text().replace("barrel_wall", "barel_wall"))
    run = Run(small)
    asyncio.run(run.start("sheet", "sheet.html", lambda: None))
    assert len(run.lines) == 3
    assert run.says == "hoopclock sheet small.toml: it failed, see below."
