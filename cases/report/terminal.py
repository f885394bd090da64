"""What a run says in the terminal: the verdict where there is one, then what it stands on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cases.base.subject import Subject, TextTable
from cases.case import Case
from cases.life.given import life_given
from cases.report.in_units import line_in
from cases.report.rated import earlier
from cases.solid.result import solid_of
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS
from cases.verdict.read import verdict_of
from cases.verdict.result import FAILS, HOLDS, MARGINAL, UNKNOWN, Verdict
from cases.verdict.terminal import change_lines, rows_table
from cases.verdict.words import QUICK, QUICK_SECTION, UNRANKED, sentence

COLOURS = {HOLDS: "bold green", MARGINAL: "bold yellow", FAILS: "bold red", UNKNOWN: "bold red"}
COLD = "Evidence: cold, each insert one piece with the block, mean over the depth"
REST = "Evidence: what it stands on; more of it, and all numbers, on the page"


def print_lines(lines: Sequence[str | TextTable], case: Case) -> None:
    """Print lines and tables in the units that a case speaks."""
    console = Console()
    for line in lines:
        console.print(_styled(line_in(line, case)))


def print_result(result: CaseResult, subjects: Sequence[Subject] = SUBJECTS) -> None:
    """Print a solved case."""
    console = Console()
    case, verdict = result.case, verdict_of(result)
    if verdict:
        _print_verdict(console, verdict, case)
    else:
        console.print(Text(quick_look(result)))
    above = verdict.told_first if verdict else ()
    told = [line for line in first_lines(result, subjects) if line not in above]
    if verdict:
        console.print()
        console.print(Text(case.name))
        console.print(Text(REST, style="bold"))
    for first in told:
        console.print(_styled(line_in(first, case)))
    glance = at_a_glance(result, subjects)
    if verdict:
        console.print()
        glance = replace(glance, title=COLD)
    console.print(_styled(line_in(glance, case)))
    for subject in subjects:
        if verdict and subject.on_page:
            continue
        for place, line in enumerate(subject.lines(result)):
            if place == 0:
                console.print()
            console.print(_styled(line_in(line, case)))


def _print_verdict(console: Console, verdict: Verdict, case: Case) -> None:
    """The verdict: its line 1 before all, what no one may miss, a row a design, what changes it."""
    console.print(Text(sentence(verdict), style=COLOURS[verdict.choice.status]))
    for flag in verdict.told_first:
        console.print(_styled(line_in(flag, case)))
    console.print()
    rows = line_in(rows_table(verdict), case)
    console.print(_styled(rows, [COLOURS[row.status] for row in verdict.rows]))
    for heading, lines in change_lines(verdict).items():
        console.print(Text(heading, style="bold"))
        for line in lines:
            console.print(Padding(_styled(line_in(line, case)), (0, 0, 0, 2)))


def quick_look(result: CaseResult) -> str:
    """What a run that rates nothing can't tell."""
    solid = any(solid_of(design) for design in result.designs)
    words = QUICK if solid else QUICK_SECTION
    several = len(result.designs) > 1
    return f"{words} {UNRANKED}" if several and life_given(result.case).fitted else words


def first_lines(result: CaseResult, subjects: Sequence[Subject] = SUBJECTS) -> list[str]:
    """What all subjects have to say before anything else, and what was rated before."""
    before = earlier(result)
    told = [line for subject in subjects for line in subject.first_lines(result)]
    return [*told, before.words] if before else told


def at_a_glance(result: CaseResult, subjects: Sequence[Subject] = SUBJECTS) -> TextTable:
    """The columns of all subjects, a row a design."""
    rows = []
    for design in result.designs:
        columns = [column for subject in subjects for column in subject.columns(result, design)]
        cells = ("\n".join(column.lines) or column.text for column in columns)
        rows.append((design.name, *cells))
    return TextTable(
        title=result.case.name,
        headings=("Design", *(column.terminal_heading for column in columns)),
        rows=tuple(rows),
        words=(0, *(place for place, column in enumerate(columns, 1) if column.words)),
    )


def _styled(told: str | TextTable, colours: Sequence[str] = ()) -> Text | Table:
    """A line or a table; ``colours`` are those of the second cell of each row."""
    if isinstance(told, str):
        return Text(told)
    styled = Table(
        title=Text(told.title), title_justify="left", box=None, pad_edge=False,
        padding=(0, 1, 0, 0),
    )  # fmt: skip
    for place, heading in enumerate(told.headings):
        words = place in told.words
        styled.add_column(
            heading, justify="left" if words else "right", no_wrap=not words or place == 0,
            min_width=12 if words and place else None,
        )  # fmt: skip
    for number, row in enumerate(told.rows):
        cells = [Text(cell) for cell in row]
        if colours:
            cells[1].stylize(colours[number])
        styled.add_row(*cells)
    return styled
