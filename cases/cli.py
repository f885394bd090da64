"""The command ``hoopclock``: errors become one clear message and an exit status."""

from __future__ import annotations

import io
import signal
import sys
import textwrap
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from os import PathLike
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, NoReturn

import click

from cases.base.faults import (
    MORE_ROOM,
    CaseError,
    Fault,
    RunError,
    memory_ran_out,
    printable,
    require_printable,
)
from cases.base.subject import Subject
from cases.base.threads import one_thread
from cases.base.version import __version__
from cases.subjects import SUBJECTS

if TYPE_CHECKING:
    from cases.base.subject import Progress
    from cases.check.published import Checked

_LONGEST_LINE = 1500  # of a message [characters]
DEMO = Path(__file__).with_name("library") / "hillclimb_four.toml"


class _InputWrong(click.ClickException):
    exit_code = 2


class _RunFailed(click.ClickException):
    exit_code = 1


@contextmanager
def _errors_in_one_message() -> Iterator[None]:
    try:
        yield
    except CaseError as error:
        raise _InputWrong(str(error)) from None
    except BrokenPipeError:  # whoever reads the output has seen enough
        raise
    except Exception as error:  # a traceback tells a machinist nothing
        if memory_ran_out(error):
            raise _RunFailed(f"the run failed: memory ran out. {MORE_ROOM}") from None
        what = str(error) if isinstance(error, RunError) else f"{type(error).__name__}: {error}"
        lines = f"the run failed: {what}".splitlines()
        raise _RunFailed("\n".join(printable(line, _LONGEST_LINE) for line in lines)) from None


@contextmanager
def _ended_by_signals() -> Iterator[None]:
    """Let a signal that ends the command unwind it first, so that nothing of it is left."""
    known = (getattr(signal, name, None) for name in ("SIGTERM", "SIGHUP", "SIGBREAK"))
    ending = [number for number in known if number and signal.getsignal(number) is signal.SIG_DFL]
    if threading.current_thread() is not threading.main_thread():
        ending = []

    def end(number: int, frame: FrameType | None) -> NoReturn:
        raise SystemExit(128 + number)

    for number in ending:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number in ending:
            signal.signal(number, signal.SIG_DFL)


class _OutPath(click.Path):
    """A path for results; an empty one would be the folder at work."""

    def convert(
        self,
        value: str | PathLike[str],
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> str | bytes | PathLike[str]:
        """The path, as click converts it."""
        if isinstance(value, str) and not value.strip():
            option = param.opts[0] if param else ""
            leave = "" if isinstance(param, click.Argument) else f", or leave {option} away"
            text = f"It is empty. Name a folder or file{leave}."
            raise _InputWrong(str(CaseError("output", [Fault(option, text, '""')])))
        return super().convert(value, param, ctx)


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
    type=_OutPath(path_type=Path),
    metavar="DIR",
    help="Folder for the results. Default: named after the case file, in this folder.",
)


@main.command()
@_out_option
def demo(out: Path | None) -> None:
    """Run the bundled block, invented: bare and with two inserts.

    Its case file is left in the folder as case.toml, to be changed and solved again.
    """
    with _errors_in_one_message():
        _run(DEMO, out or Path(DEMO.stem), leave_case=True)


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@_out_option
def solve(case: Path, out: Path | None) -> None:
    """Run every design of a case file."""
    with _errors_in_one_message():
        _run(case, out or Path(case.stem))


@main.command()
@click.argument("case", type=click.Path(path_type=Path), metavar="CASE.toml")
@_out_option
def rate(case: Path, out: Path | None) -> None:
    """Run every design, and estimate what each stands.

    Raises the gas load until a strength is used up: the limit as pressure, boost and power, where
    it is met, and the cycles that the asked load lasts.
    """
    with _errors_in_one_message():
        _run(case, out or Path(case.stem), rate=True)


@main.command()
@click.argument("name", required=False, default="", metavar="[NAME]")
@click.option(
    "--html",
    type=_OutPath(path_type=Path),
    metavar="FILE.html",
    help="Write them as a page instead.",
)
def keys(name: str, html: Path | None) -> None:
    """Tell every key of a case file: what it is, its unit, default, range and an example.

    NAME narrows it to a table or a key, such as heat, design.fit or clock.
    """
    with _errors_in_one_message():
        from cases.report.keys import key_tables, keys_named, keys_text, write_keys_page

        tables = key_tables()
        if name:
            tables = keys_named(name, tables)
        if html is None:
            click.echo(keys_text(tables))
            return
        _require_place(html, "--html", "keys.html")
        with _written(html, "--html"):
            write_keys_page(html, tables)
        click.echo(f"Open {html} in a browser.")


@main.command()
@click.argument("file", type=_OutPath(path_type=Path), metavar="FILE.toml")
def new(file: Path) -> None:
    """Write a commented case to start from, its numbers invented."""
    with _errors_in_one_message():
        from cases.report.starter import write_starter

        require_printable("case file", "", file)
        write_starter(file)
        click.echo(f"Put your numbers into {file}, then run: hoopclock solve {file}")


@main.command()
@click.option(
    "--out",
    type=_OutPath(path_type=Path),
    metavar="FILE.html",
    help="Write the table as a page too, with how each problem is posed.",
)
def check(out: Path | None) -> None:
    """Solve problems with published answers, and set ours beside them.

    Ends with an error if one differs by more than is allowed.
    """
    with _errors_in_one_message():
        if out is not None:
            _require_place(out, "--out", "check.html")
        from cases.check.published import PROBLEMS, check_problem, write_check_page

        checked = []
        with _progress(len(PROBLEMS)) as tell:
            for problem in PROBLEMS:
                tell(problem.name, "solve")
                checked.append(check_problem(problem))
        _print_checked(checked)
        if out is not None:
            with _written(out, "--out"):
                write_check_page(checked, out)
            click.echo(f"Open {out} in a browser.")
    if failed := [one.problem.name for one in checked if not one.passed]:
        raise _RunFailed(
            f"{len(failed)} of {len(checked)} problems differ by more than is allowed: "
            f"{'; '.join(failed)}."
        )


def _require_place(out: Path, option: str, name: str) -> None:
    """Refuse a page that can't be written, before anything is solved."""
    if out.is_symlink() and not out.exists():
        raise _no_place(out, option, "It is a link that leads nowhere. Choose another.")
    if out.is_dir():
        text = f"A folder has that name. To write into it: {option} {out / name}"
        raise _no_place(out, option, text)
    if not out.absolute().parent.is_dir():
        text = f"There is no folder {out.parent}. Make it first, or choose another."
        raise _no_place(out, option, text)


@contextmanager
def _written(out: Path, option: str) -> Iterator[None]:
    """Say which page can't be written."""
    try:
        yield
    except OSError as error:
        raise _no_place(out, option, f"It can't be written: {error.strerror}.") from None


def _no_place(out: Path, option: str, text: str) -> CaseError:
    return CaseError("output", [Fault(option, text, f'"{out}"')])


def _print_checked(checked: Sequence[Checked]) -> None:
    click.echo(f"{'':36}{'published':>10}{'ours':>10}{'differ':>10}{'allowed':>8}")
    for number, one in enumerate(checked, start=1):
        click.secho(f"{number}. {one.problem.name}", bold=True)
        source = f"Source: {one.problem.source}"
        click.echo(textwrap.fill(source, 79, initial_indent="  ", subsequent_indent="  "))
        for outcome in one.outcomes:
            target = outcome.target
            click.echo(
                f"  {target.quantity:34}{target.published:10.6g}{outcome.ours:10.6g}"
                f"{100 * outcome.difference:+8.3f} %{100 * target.allowed:6g} % ",
                nl=False,
            )
            click.secho("pass" if outcome.passed else "FAIL", fg=None if outcome.passed else "red")
    if all(one.passed for one in checked):
        values = sum(len(one.outcomes) for one in checked)
        click.echo(f"All {len(checked)} problems passed, {values} values.")


def _run(path: Path, out: Path, *, leave_case: bool = False, rate: bool = False) -> None:
    from cases.base.output import output_folder
    from cases.read import read_case

    require_printable("case file", "", path)
    case = read_case(path)
    text = path.read_bytes() if leave_case else b""
    if leave_case:
        _spare_changed_case(out / "case.toml", text)
    leaves = ("case.toml",) if leave_case else ()
    with _ended_by_signals(), output_folder(out, path, leaves=leaves) as folder:
        from cases.base.workers import require_memory, side_by_side

        require_memory()
        from cases.run import count_steps, solve_case

        many = any(subject.asked(case, rate) for subject in SUBJECTS if subject.key == "life")
        with (
            _progress(count_steps(case, rate) + 1) as tell,
            side_by_side(len(case.designs) if many else 1) as executor,
        ):
            result = solve_case(case, tell, executor, rate=rate)
            tell("all designs", "pictures and report")
            from cases.report.results import write_outputs

            write_outputs(result, folder, executor)
        if leave_case and not (out / "case.toml").exists():
            (folder / "case.toml").write_bytes(text)
    from cases.report.terminal import print_result

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


@contextmanager
def _progress(steps: int) -> Iterator[Progress]:
    """A line on the terminal, gone at the end, that tells the step at work; silent in a pipe."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    bar = Progress(
        SpinnerColumn(),
        BarColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.description}", markup=False),
        console=Console(stderr=True),
        transient=True,
    )
    with bar:
        task = bar.add_task("", total=steps, completed=-1)

        def tell(name: str, step: str) -> None:
            bar.update(task, description=f"{name}: {step}", advance=1)

        yield tell


def add_verbs(group: click.Group, subjects: Sequence[Subject] = SUBJECTS) -> None:
    """Give a group the verbs of subjects that have some of their own."""
    for subject in subjects:
        for command in subject.commands():
            group.add_command(command)


add_verbs(main)
