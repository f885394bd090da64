"""What a run says in the terminal: the designs at a glance, then what each subject has to add."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from cases.base.subject import Subject, TextTable
from cases.report.rated import earlier
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS


def print_result(result: CaseResult, subjects: Sequence[Subject] = SUBJECTS) -> None:
    """Print a solved case."""
    console = Console()
    for first in first_lines(result, subjects):
        console.print(Text(first))
    console.print(_styled(at_a_glance(result, subjects)))
    for subject in subjects:
        for place, line in enumerate(subject.lines(result)):
            if place == 0:
                console.print()
            console.print(_styled(line) if isinstance(line, TextTable) else Text(line))


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


def _styled(table: TextTable) -> Table:
    styled = Table(
        title=Text(table.title), title_justify="left", box=None, pad_edge=False,
        padding=(0, 1, 0, 0),
    )  # fmt: skip
    for place, heading in enumerate(table.headings):
        words = place in table.words
        styled.add_column(
            heading, justify="left" if words else "right", no_wrap=not words or place == 0,
            min_width=12 if words and place else None,
        )  # fmt: skip
    for row in table.rows:
        styled.add_row(*map(Text, row))
    return styled
