"""The command ``hoopclock`` and its verbs."""

from __future__ import annotations

import io
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cases.base.command import (
    OutPath,
    RunFailed,
    ended_by_signals,
    errors_in_one_message,
    page_written,
    require_place,
)
from cases.base.faults import (
    CaseError,
    Fault,
    require_printable,
)
from cases.base.subject import Subject
from cases.base.threads import one_thread
from cases.base.version import __version__
from cases.subjects import SUBJECTS

if TYPE_CHECKING:
    from cases.case import Case
    from cases.report.rated import RatedFindings
    from cases.solid.given import Setting

PICTURES = "pictures and report"
MAKING = "drawings and solids"
"""What a run ends with."""
DEMO = Path(__file__).with_name("library") / "hillclimb_four.toml"


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="hoopclock")
def main() -> None:
    """Show where an open-deck cylinder block cracks, and what an insert changes.

    Estimates for comparison, not a certificate.
    """
    one_thread()
    for stream in (sys.stdout, sys.stderr):  # a letter that a terminal lacks is no failure
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


_out_option = click.option(
    "--out",
    type=OutPath(path_type=Path),
    metavar="DIR",
    help="Folder for the results. Default: named after the case file, in this folder.",
)


_section_option = click.option(
    "--section", is_flag=True, help="The deck section alone: leave out the solid of each design."
)


@main.command()
@_out_option
@_section_option
def demo(out: Path | None, section: bool) -> None:
    """Rate the bundled block, invented, bare and with two inserts, to its verdict.

    By coarse solids, which take less time. Its case file is left in the folder as
    case.toml, to be changed and solved again.
    """
    with errors_in_one_message():
        _run(
            DEMO,
            out or Path(DEMO.stem),
            leave_case=True,
            rate=True,
            setting=None if section else "coarse",
        )


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@_out_option
@_section_option
def solve(case: Path, out: Path | None, section: bool) -> None:
    """Run every design of a case file: the deck section, and beside it a coarse solid."""
    with errors_in_one_message():
        _run(case, out or Path(case.stem), setting=None if section else "coarse")


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@_out_option
@_section_option
@click.option(
    "--store",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The shop's record: restate the limits by what its own engines say.",
)
def rate(case: Path, out: Path | None, section: bool, store: Path | None) -> None:
    """Run every design, and estimate what each stands.

    Raises the gas load until a strength is used up: the limit as pressure, boost and power, where
    it is met, and the cycles that the asked load lasts.
    """
    with errors_in_one_message():
        _run(
            case,
            out or Path(case.stem),
            rate=True,
            setting=None if section else "fine",
            store=store,
        )


@main.command()
@click.argument("name", required=False, default="", metavar="[NAME]")
@click.option(
    "--html",
    type=OutPath(path_type=Path),
    metavar="FILE.html",
    help="Write them as a page instead.",
)
def keys(name: str, html: Path | None) -> None:
    """Tell every key of a case file: what it is, its unit, default, range and an example.

    NAME narrows it to a table or a key, such as heat, design.fit or clock.
    """
    with errors_in_one_message():
        from cases.report.keys import key_tables, keys_named, keys_text, write_keys_page

        tables = key_tables()
        if name:
            tables = keys_named(name, tables)
        if html is None:
            click.echo(keys_text(tables))
            return
        require_place(html, "--html", "keys.html")
        with page_written(html, "--html"):
            write_keys_page(html, tables)
        click.echo(f"Open {html} in a browser.")


@main.command()
@click.argument("file", type=OutPath(path_type=Path), metavar="FILE.toml")
def new(file: Path) -> None:
    """Write a commented case to start from, its numbers invented."""
    with errors_in_one_message():
        from cases.report.starter import write_starter

        require_printable("case file", "", file)
        write_starter(file)
        click.echo(f"Put your numbers into {file}, then run: hoopclock solve {file}")


@main.command()
@click.option(
    "--out",
    type=OutPath(path_type=Path),
    metavar="FILE.html",
    help="Write the table as a page too, with how each problem is posed.",
)
def check(out: Path | None) -> None:
    """Solve problems with published answers, and set ours beside them.

    Ends with an error if one differs by more than is allowed.
    """
    with errors_in_one_message():
        if out is not None:
            require_place(out, "--out", "check.html")
        from cases.base.progress import RunPlan, progress
        from cases.check.published import PROBLEMS, check_problem, write_check_page
        from cases.check.terminal import print_checked

        checked = []
        with progress(RunPlan(once=[(of.name, of.seconds) for of in PROBLEMS])) as tell:
            for problem in PROBLEMS:
                tell("check", problem.name)
                checked.append(check_problem(problem))
        print_checked(checked)
        if out is not None:
            with page_written(out, "--out"):
                write_check_page(checked, out)
            click.echo(f"Open {out} in a browser.")
    if failed := [one.problem.name for one in checked if not one.passed]:
        raise RunFailed(
            f"{len(failed)} of {len(checked)} problems differ by more than is allowed: "
            f"{'; '.join(failed)}."
        )


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@_out_option
def sheet(case: Path, out: Path | None) -> None:
    """Write what to measure on this block: a blank to fill in, sheet.csv, and a page to print.

    Clock positions, depths and methods, with the wall to expect and the least that the asked load
    needs: by hoopclock rate where it has run into the same folder, else by two coarse solids, which
    take a minute. Name the filled file in the case: [inspection] readings.
    """
    with errors_in_one_message():
        from cases.base.progress import begun
        from cases.bores.given import firing
        from cases.bores.walls import walls_worth
        from cases.inspection.sheet import refuse_begun, sheet_of, write_sheet
        from cases.inspection.worth import spare_of, spare_of_rating
        from cases.rating.given import rating_given
        from cases.read import read_case
        from cases.report.rated import rated_findings

        require_printable("case file", "", case)
        read, folder = read_case(case), out or Path(case.stem)
        refuse_begun(folder)
        if found := rated_findings(folder, read).results:
            rated = firing(read, found.get("rated_bore", read.block.firing_bore))
            spare = spare_of_rating(found, rating_given(rated).wall_tolerance)
        else:
            from cases.run import rated_alone

            click.echo(
                "Nothing was rated into this folder: two coarse solids tell what walls need."
            )
            with begun("two coarse solids, for what walls need"):
                spare = spare_of(walls_worth(read, lambda case: rated_alone(case, "coarse")))
        made = sheet_of(read, spare)
        write_sheet(made, folder)
        click.echo(
            f"{len(made.rows)} places to measure: print {folder / 'sheet.html'}, or fill in "
            f"{folder / 'sheet.csv'}."
        )
        if made.left_out:
            click.echo(f"Left out, as no method reaches them: {len(made.left_out)}, named there.")


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@click.option("--design", required=True, metavar="NAME", help="Which insert to make.")
@_out_option
@_section_option
def make(case: Path, design: str, out: Path | None, section: bool) -> None:
    """Write what a shop needs to make an insert: drawings, how it goes in, and a traveller.

    Into a folder make-NAME of its own among the results. Fit window and press forces are those of
    hoopclock rate; where it has not run on this case, it runs first.
    """
    with errors_in_one_message():
        from cases.base.output import output_folder
        from cases.base.progress import RunPlan, begun, progress

        require_printable("case file", "", case)
        with begun(f"reading {case.name}"):
            from cases.bores.given import firing
            from cases.making.drawing import drop_others
            from cases.making.make import design_of, folder_of, made_of, write_making
            from cases.making.words import goes_in
            from cases.read import read_case
            from cases.report.rated import inputs_hash

            read, results = read_case(case), out or Path(case.stem)
            design_of(read, design)
        rated = _rated_of(case, read, results, section)
        with begun(f"{design}: how it goes in"):
            bore = (rated.results or {}).get("rated_bore", read.block.firing_bore)
            fired = firing(read, bore)
            making = made_of(fired, design, rated.results, rated.words, inputs_hash(read))
        with (
            ended_by_signals(),
            output_folder(results / folder_of(design), case) as folder,
            progress(RunPlan(once=[(MAKING, 6.0)])) as tell,
        ):
            tell(design, MAKING)
            missing = write_making(making, folder)
            written = [path.name for path in folder.iterdir()]
        drop_others(results / folder_of(design), written)
        for line in (*goes_in(making), *map(read.spoken.told, missing)):
            click.echo(line)
        click.echo(f"Open {results / folder_of(design) / 'making.html'} in a browser.")


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@_out_option
@click.option(
    "--more",
    type=click.IntRange(min=1),
    metavar="N",
    help="Judge N designs beside those of the same search before. A new one judges 144.",
)
@click.option(
    "--until",
    metavar="TIME",
    help='Begin no new round of designs after this, such as "20 min"; the fine solids come after.',
)
@click.option("--seed", type=click.IntRange(min=0), default=1, metavar="N", help="Default: 1.")
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Of a Dask scheduler whose workers solve, in place of processes of this machine.",
)
def search(
    case: Path,
    out: Path | None,
    more: int | None,
    until: str | None,
    seed: int,
    cluster: str | None,
) -> None:
    """Look for the best inserts between the bounds of [search].

    Coarse solids judge many, fine ones those that may be in front. What is found is kept at once,
    in a folder search among the results; the same command goes on where it was ended. The case is
    left there with the designs that were found, to be rated.
    """
    with errors_in_one_message():
        from cases.base.output import output_folder
        from cases.base.workers import Workers, apart, processes_for, require_memory
        from cases.read import case_of
        from cases.report.pictures import in_style, write_picture
        from cases.report.rated import inputs_hash, rated_findings
        from cases.report.terminal import print_lines
        from cases.run import rated_alone
        from cases.search.cluster import clustered
        from cases.search.evaluate import Hands
        from cases.search.figures import front_figure
        from cases.search.loop import POPULATION
        from cases.search.saying import Saying
        from cases.search.seek import Search
        from cases.search.start import case_to_search, seconds_of, store_name
        from cases.search.store import opened
        from cases.search.words import member_names, told_lines
        from cases.search.write import FOLDER, PICTURE, STORE, write_search

        require_printable("case file", "", case)
        hands, longest = Hands(case_of, rated_alone, inputs_hash), seconds_of(until)
        results = out or Path(case.stem)

        def rated_bore(read: Case) -> int | None:
            found = rated_findings(results, read).results
            return found.get("rated_bore") if found else None

        raw, read = case_to_search(case, hands, rated_bore)
        out = results / FOLDER
        with ended_by_signals(), output_folder(out, case) as folder:
            require_memory()
            with (
                opened(out / STORE, *store_name(raw, read, hands)) as store,
                clustered(cluster) if cluster else apart(processes_for(POPULATION)) as workers,
            ):
                looking = Search(hands, raw, read, store, workers, Saying())
                found = looking.run(seed=seed, more=more or 0, until=longest)
                if found.interrupted and isinstance(workers, Workers):
                    workers.cut()
            names = member_names(found, [design.name for design in read.designs])
            write_search(found, names, case.read_text(encoding="utf-8-sig"), folder)
            if found.seen:
                with in_style():
                    write_picture(front_figure(found, names), read, folder / PICTURE)
        print_lines(told_lines(found, names), read)
        click.echo(f"In {out}: the case with the designs found, the picture and the numbers.")


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@click.option("--no-browser", is_flag=True, help="Print the address, and open nothing.")
def page(case: Path, no_browser: bool) -> None:
    """Open a case in the browser: its plan, dials for what may change, and the verdict.

    Where the dials stand is kept beside the case as they move; the case file changes when it is
    saved. For this machine alone: nothing is asked of another.
    """
    with errors_in_one_message():
        from cases.dials.serve import serve

        require_printable("case file", "", case)
        if not case.is_file():
            text = "There is no such file. Check the folder and the spelling."
            raise CaseError(str(case), [Fault("", text)])
        serve(case, browser=not no_browser)


def _rated_of(path: Path, case: Case, results: Path, section: bool) -> RatedFindings:
    """What was rated of a case, in its folder or where a rating goes by itself; else rated now."""
    from cases.report.rated import rated_findings

    for folder in dict.fromkeys((results, Path(path.stem))):
        found = rated_findings(folder, case)
        if found.results is not None:
            return found
    click.echo("No rating of this case is at hand, so it is rated first.")
    _run(path, results, rate=True, setting=None if section else "fine")
    return rated_findings(results, case)


def _run(
    path: Path,
    out: Path,
    *,
    setting: Setting | None,
    leave_case: bool = False,
    rate: bool = False,
    store: Path | None = None,
) -> None:
    from cases.base.output import output_folder
    from cases.base.progress import begun, progress

    require_printable("case file", "", path)
    with begun(f"reading {path.name}"):
        from cases.base.workers import processes_for, require_memory, side_by_side
        from cases.bores.given import every_bore
        from cases.read import read_case
        from cases.record.built import with_built
        from cases.record.given import with_store
        from cases.run import EVERY_BORE, at_once, plan_of, solve_bores, solve_case
        from cases.solid.given import solid_given, with_solid

        case = with_solid(read_case(path), setting, lived=rate and setting is not None)
        case = with_built(with_store(case, store))
    rated = rate and not solid_given(case).alone
    text = path.read_bytes() if leave_case else b""
    if leave_case:
        _spare_changed_case(out / "case.toml", text)
    leaves = ("case.toml",) if leave_case else ()
    with ended_by_signals(), output_folder(out, path, leaves=leaves) as folder:
        require_memory()
        tasks = at_once(case, rated)
        plan = plan_of(case, rated, processes_for(tasks))
        plan = replace(plan, once=[*plan.once, (PICTURES, 10.0)])
        with progress(plan) as tell, side_by_side(tasks) as executor:
            if rated and every_bore(case):
                tell("all designs", EVERY_BORE)
                result = solve_bores(case, tell, executor)
            else:
                result = solve_case(case, tell, executor, rate=rated)
            tell("all designs", PICTURES)
            from cases.report.rated import with_rated
            from cases.report.results import write_outputs
            from cases.report.terminal import print_result

            if not rated:
                result = with_rated(result, out)
            write_outputs(result, folder, executor)
        if leave_case and not (out / "case.toml").exists():
            (folder / "case.toml").write_bytes(text)
    print_result(result)
    for subject in SUBJECTS:
        if text_ := subject.ignored(case, rate):
            click.echo(text_)
    click.echo(f"Open {out / 'report.html'} in a browser; the numbers are in results.json.")


def _spare_changed_case(path: Path, text: bytes) -> None:
    """Refuse to write over a case file that someone has changed."""
    if path.is_file() and path.read_bytes() != text:
        fault = Fault(
            "",
            "It has been changed, and the demo would write over it. Choose another folder with "
            f"--out, or run your changed case: hoopclock solve {path}",
        )
        raise CaseError(str(path), [fault])


def add_verbs(group: click.Group, subjects: Sequence[Subject] = SUBJECTS) -> None:
    """Give a group the verbs of subjects that have some of their own."""
    for subject in subjects:
        for command in subject.commands():
            group.add_command(command)


add_verbs(main)
