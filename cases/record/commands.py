"""``hoopclock record`` and its verbs."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from cases.base.command import OutPath, RunFailed, errors_in_one_message

LISTED = 40
"""Jobs that a list has unless all are wanted."""


@click.group()
def record() -> None:
    """Keep what a shop's blocks were, how they were made, and what became of them.

    A job has lines, each with a date and who: block, case, design, reading (of a wall), cut,
    piece, fitting, bore, "main bores", deck, "leak test", run, opened, photo, note. A line is never
    overwritten: a correction is a new line that names the old one. One file holds it all.
    """


_store = click.option(
    "--store",
    type=OutPath(path_type=Path),
    metavar="FILE",
    help="The record. Default: record.sqlite in your folder for data.",
)
_who = click.option("--who", default="", metavar="NAME", help="Who measured, did or saw it.")
_date = click.option("--date", metavar="YYYY-MM-DD", help="When. Default: today.")


@record.command()
@click.argument("job")
@click.argument("values", nargs=-1, metavar="NAME=VALUE...")
@_who
@_date
@_store
def new(job: str, values: tuple[str, ...], who: str, date: str | None, store: Path | None) -> None:
    """Begin a job with its block: hoopclock record new 118 block=B-0417 --who R."""
    with errors_in_one_message():
        from cases.record.entry import entry, typed_values
        from cases.store.file import opened, require_number
        from cases.store.place import usual_place

        require_number(job)
        line = entry("block", typed_values(values), who=who, date=date)
        with opened(store or usual_place(), make=True) as kept:
            number = kept.new(job, line)
            click.echo(f"Job {job} begun, its block is line {number}.")


@record.command()
@click.argument("job")
@click.argument("kind")
@click.argument("values", nargs=-1, metavar="NAME=VALUE...")
@click.option(
    "--rows",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Add a line for each row, of a CSV or .xlsx file; the first row names the fields, with "
    "their units in brackets.",
)
@click.option("--instrument", default="", metavar="NAME", help="What it was measured with.")
@click.option("--corrects", type=int, metavar="LINE", help="The line that this stands in place of.")
@_who
@_date
@_store
def add(
    job: str,
    kind: str,
    values: tuple[str, ...],
    rows: Path | None,
    instrument: str,
    corrects: int | None,
    who: str,
    date: str | None,
    store: Path | None,
) -> None:
    """Add a line to a job: hoopclock record add 118 run "peak=140 bar" cycles=2e6 --who R.

    KIND is one of block, case, design, reading, cut, piece, fitting, bore, "main bores", deck,
    "leak test", run, opened, photo, note and struck. What a kind lacks is told, with an example.
    """
    with errors_in_one_message():
        from cases.record.entry import entries, entry, typed_values
        from cases.store.file import opened
        from cases.store.place import usual_place

        typed = typed_values(values)
        with opened(store or usual_place()) as kept:
            stamped = partial(
                partial(entry, kind) if rows is None else partial(entries, kind, rows),
                who=who, date=date, instrument=instrument, corrects=corrects,
                bores=kept.bores(job),
            )  # fmt: skip
            lines = stamped(typed)
            numbers = kept.add(job, lines if isinstance(lines, list) else [lines])
        told = f"line {numbers[0]}" if len(numbers) == 1 else f"lines {numbers[0]} to {numbers[-1]}"
        click.echo(f"Kept as {told} of job {job}.")


@record.command("list")
@click.option("--all", "every", is_flag=True, help=f"Not the newest {LISTED} alone.")
@_store
def list_(every: bool, store: Path | None) -> None:
    """List the jobs: block, design, runs, and what was found last."""
    with errors_in_one_message():
        from cases.record.show import HEADINGS, job_rows, table_lines
        from cases.store.file import opened
        from cases.store.place import usual_place

        with opened(store or usual_place()) as kept:
            rows = list(job_rows(kept.listed(None if every else LISTED)))
            jobs, lines = kept.counts()
        click.echo("\n".join(table_lines(rows, HEADINGS)))
        left = f"; the newest {len(rows)} are shown, --all shows all" if len(rows) < jobs else ""
        click.echo(f"{jobs} job{'' if jobs == 1 else 's'}, {lines} lines{left}.")


@record.command()
@click.argument("job")
@click.option("--all", "every", is_flag=True, help="Each of many readings too.")
@_store
def show(job: str, every: bool, store: Path | None) -> None:
    """Show a job, line by line, corrected lines too."""
    with errors_in_one_message():
        from cases.record.show import job_lines
        from cases.store.file import opened
        from cases.store.place import usual_place

        with opened(store or usual_place()) as kept:
            found = kept.job(job)
        click.echo("\n".join(job_lines(found, every)))


@record.command()
@click.argument("file", type=OutPath(path_type=Path))
@_store
def export(file: Path, store: Path | None) -> None:
    """Write all lines to FILE, CSV or JSON by its ending."""
    with errors_in_one_message():
        from cases.record.export import write_export
        from cases.store.file import opened
        from cases.store.place import usual_place

        with opened(store or usual_place()) as kept:
            write_export(kept.jobs(), file)
        click.echo(f"Written to {file}.")


@record.command()
@click.argument("file", type=OutPath(path_type=Path))
@_store
def backup(file: Path, store: Path | None) -> None:
    """Copy the record into one file, whole, while it is in use."""
    with errors_in_one_message():
        from cases.store.file import opened
        from cases.store.place import usual_place

        with opened(store or usual_place()) as kept:
            kept.backup(file)
        click.echo(f"Copied to {file}.")


@record.command()
@_store
def check(store: Path | None) -> None:
    """Check the record: the file, what was typed against what is kept, the pictures' hashes."""
    with errors_in_one_message():
        from cases.record.examine import wrong_in
        from cases.store.file import opened
        from cases.store.place import usual_place

        with opened(store or usual_place()) as kept:
            wrong = wrong_in(kept)
            jobs, lines = kept.counts()
    for text in wrong:
        click.echo(text)
    if wrong:
        raise RunFailed(f"{len(wrong)} things are wrong in the record.")
    click.echo(f"All is well: {jobs} job{'' if jobs == 1 else 's'}, {lines} lines.")
