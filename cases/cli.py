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

from cases import __version__
from cases.errors import (
    MORE_ROOM,
    CaseError,
    Fault,
    RunError,
    memory_ran_out,
    printable,
    require_printable,
)
from cases.threads import one_thread

if TYPE_CHECKING:
    from cases.fit_advice import FitAdvice
    from cases.published import Checked
    from cases.run import CaseResult, DesignResult, Progress
    from fea.hotspots import HotSpot
    from geometry import Block

_LONGEST_LINE = 1500  # of a message [characters]
_NO_NAME = "It is empty. Name a folder or file, or leave --out away."
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
            raise _InputWrong(str(CaseError("output", [Fault("--out", _NO_NAME, '""')])))
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
            _require_place(out)
        from cases.published import PROBLEMS, check_problem, write_check_page

        checked = []
        with _progress(len(PROBLEMS)) as tell:
            for problem in PROBLEMS:
                tell(problem.name, "solve")
                checked.append(check_problem(problem))
        _print_checked(checked)
        if out is not None:
            try:
                write_check_page(checked, out)
            except OSError as error:
                raise _no_place(out, f"It can't be written: {error.strerror}.") from None
            click.echo(f"Open {out} in a browser.")
    if failed := [one.problem.name for one in checked if not one.passed]:
        raise _RunFailed(
            f"{len(failed)} of {len(checked)} problems differ by more than is allowed: "
            f"{'; '.join(failed)}."
        )


def _require_place(out: Path) -> None:
    """Refuse a page that can't be written, before anything is solved."""
    if out.is_symlink() and not out.exists():
        raise _no_place(out, "It is a link that leads nowhere. Choose another.")
    if out.is_dir():
        raise _no_place(
            out, f"A folder has that name. To write into it: --out {out / 'check.html'}"
        )
    if not out.absolute().parent.is_dir():
        raise _no_place(out, f"There is no folder {out.parent}. Make it first, or choose another.")


def _no_place(out: Path, text: str) -> CaseError:
    return CaseError("output", [Fault("--out", text, f'"{out}"')])


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
    from cases.case import read_case
    from cases.output import output_folder

    require_printable("case file", "", path)
    case = read_case(path)
    text = path.read_bytes() if leave_case else b""
    if leave_case:
        _spare_changed_case(out / "case.toml", text)
    leaves = ("case.toml",) if leave_case else ()
    with _ended_by_signals(), output_folder(out, path, leaves=leaves) as folder:
        from cases.workers import require_memory, side_by_side

        require_memory()
        from cases.run import STEPS, solve_case
        from cases.service import has_service

        lives = rate or has_service(case)
        steps = len(STEPS) - 3 + lives
        steps += rate * (1 + (case.rating.draws > 0) + (case.crack is not None))
        with (
            _progress(len(case.designs) * steps + 1 + (rate and case.depth is not None)) as tell,
            side_by_side(len(case.designs) if lives else 1) as executor,
        ):
            result = solve_case(case, tell, executor, rate=rate)
            tell("all designs", "pictures and report")
            from cases.results import write_outputs

            write_outputs(result, folder, executor)
        if leave_case and not (out / "case.toml").exists():
            (folder / "case.toml").write_bytes(text)
    _print_table(result)
    if rate:
        _print_ratings(result)
        for line in (*_from_the_side(result), *_cracked(result)):
            click.echo(textwrap.fill(line, 79))
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


def _print_table(result: CaseResult) -> None:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(
        title=Text(result.case.name),
        title_justify="left",
        box=None,
        pad_edge=False,
        padding=(0, 1, 0, 0),
    )
    others = [
        part
        for part in ("liner", "insert")
        if any(_worst(design, (part,)) for design in result.designs)
    ]
    table.add_column("Design", no_wrap=True)
    table.add_column("Worst spot\nof the block", min_width=12)
    for heading in (
        "Stress\nMPa",
        "To\nbare",
        *(f"{part.capitalize()}\nMPa" for part in others),
        "Growth\num",
        "Out of\nround\num",
        "Water\nmm2",
        "Insert\nmm2",
    ):
        table.add_column(heading, justify="right", no_wrap=True)
    bare = next((design for design in result.designs if design.section.insert is None), None)
    for design in result.designs:
        table.add_row(*map(Text, _row(design, bare, others)))
    console = Console()
    console.print(table)
    console.print(
        "\nStress: largest principal stress at the worst spot of the block's own metal, then of "
        "its liners and insert; mean over the depth. "
        f"Clock: about bore {result.case.block.firing_bore}, which fires. "
        "Growth: of its radius, mean. Water: open area at the deck."
        + (" All cold, each insert one piece with the block." if result.case.fitted else "")
    )
    for note in (*_gas(result), *_notes(result), *_life(result)):
        console.print(Text(note))


def _print_ratings(result: CaseResult) -> None:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from cases.cautions import RATING_CAUTIONS

    table = Table(
        title=Text("What each design stands, an estimate"),
        title_justify="left",
        box=None,
        pad_edge=False,
        padding=(0, 1, 0, 0),
    )
    engine = result.case.wall_load is not None
    table.add_column("Design", no_wrap=True)
    for heading in (
        "Limit\nx asked",
        "5-95 %\nx asked",
        "Peak\nbar",
        *(("Boost\nbar", "Power\nkW") if engine else ()),
        "Cycles at\nthe asked",
    ):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("Governed by", min_width=16)
    for design in result.designs:
        table.add_row(*map(Text, _rating_row(design, engine)))
    console = Console()
    console.print()
    console.print(table)
    told: dict[str, list[str]] = {}
    for design in result.designs:
        for note in design.rating.notes if design.rating else ():
            told.setdefault(note, []).append(design.name)
    for note, names in told.items():
        of = "" if len(names) == len(result.designs) else f"{', '.join(names)}: "
        console.print(Text(f"{of}{note}"))
    console.print(Text(" ".join(RATING_CAUTIONS)))


def _from_the_side(result: CaseResult) -> list[str]:
    """What the depth section comes to."""
    from geometry.clock import format_clock

    depth = result.depth
    if depth is None:
        return []
    told = []
    for design in depth.designs:
        text = (
            f"{design.name} {design.hoop_mpa:.0f} MPa at {design.hoop_at_mm:.0f} mm, "
            f"{design.growth_um:.0f} um"
        )
        if design.sweep:
            enough = design.sweep.enough_hoop_mm
            text += (
                f" (an insert {enough:.0f} mm deep is enough)" if enough else " (deeper still pays)"
            )
        told.append(text)
    return [
        f"The barrel from the side at {format_clock(depth.clock)}, mean hoop stress of the wall "
        f"and growth: {'; '.join(told)}."
    ]


def _cracked(result: CaseResult) -> list[str]:
    """What a crack does in each design."""
    from geometry.clock import format_clock

    crack = result.crack
    if crack is None:
        return []
    told = []
    for series in crack.series:
        growth = series.growth
        text = f"{series.design} {growth.words}"
        told.append(text if growth.stops else f"{text} after {growth.life:,.0f} cycles")
    return [
        f"A crack of {crack.given.flaw:g} mm in the {crack.place.part} at "
        f"{format_clock(crack.place.clock_hours)}: {'; '.join(told)}. Castings differ by far more "
        "than one constant can tell."
    ]


def _rating_row(design: DesignResult, engine: bool) -> tuple[str, ...]:
    from cases.rating_page import governing_name, life_words, lives_of

    rating = design.rating
    assert rating is not None
    judged = lives_of(rating, design.solution.model.materials).values()
    lives = [cycles for cycles in judged if cycles is not None]
    limit, band, spot = rating.limit, rating.band, rating.governing
    factor = f"{limit.factor:.2f}" if limit else f"> {rating.tried:.1f}"
    spread = f"{band.factor[0]:.2f}-{band.factor[-1]:.2f}" if band else ""

    def bar(value: float | None) -> str:
        return "" if value is None else f"{10 * value:.2f}" if value < 1 else f"{10 * value:.0f}"

    cells = [bar(limit.pressure_mpa if limit else None)]
    if engine:
        power = limit.power_kw if limit else None
        cells += [bar(limit.boost_mpa if limit else None), f"{power:.0f}" if power else ""]
    what = ""
    if spot:
        part = _part(design.section.block, spot.spot)
        what = f"{governing_name(rating)}, {part} {spot.spot.clock}"
    return (
        design.name, factor, spread, *cells, life_words(min(lives, default=None)), what,
    )  # fmt: skip


def _gas(result: CaseResult) -> list[str]:
    """What the engine's cycle comes to."""
    load = result.case.wall_load
    if load is None:
        return []
    cycle = load.cycle
    return [
        f"Gas: {10 * cycle.engine.intake_pressure:.2f} bar absolute in the intake and "
        f"{cycle.power:.0f} kW; {10 * cycle.peak:.0f} bar at {cycle.peak_deg:.0f} deg after the "
        f"top, most load on the section at {load.line_load_deg:.0f} deg. Detonation is not covered."
    ]


def _life(result: CaseResult) -> list[str]:
    """What the load steps of each design come to."""
    from cases.case import PARENT_PARTS
    from cases.plots import rated_worst
    from cases.report import life_title
    from cases.steps import WARM_GAS

    lines = []
    for design in result.designs:
        service = design.service
        if service is None:
            continue
        step = service.step(WARM_GAS) or service.steps[-1]
        spot = rated_worst(step, PARENT_PARTS)
        text = f"{design.name}, {step.name}: " + (
            f"block {spot.principal_mpa:.0f} MPa at {spot.part} {spot.clock}, " if spot else ""
        )
        text += (
            f"bore {step.bore.mean_growth_um:+.0f} um, {step.bore.out_of_round_um:.0f} um out of "
            "round"
        )
        if step.joint:
            text += f", joint {100 * step.joint.open_share:.0f} % open"
        advice = service.advice
        if advice and advice.least_um is None:
            text += f", no interference up to {advice.searched_um:.0f} um holds every piece"
        elif advice and advice.empty:
            text += f", no interference meets both limits: {_limits(advice)}"
        elif advice:
            text += f", interference {_limits(advice)}"
        lines += [f"{text}.", *(f"{design.name}, {note}" for note in service.notes)]
    title = life_title(result.case)
    return [f"\n{title}, bore from the honed circle on:", *lines] if lines else []


def _limits(advice: FitAdvice) -> str:
    """Both ends of an advised interference, each with the step that sets it."""
    from cases.fit_advice import YIELD

    least = f"at least {advice.least_um:.0f} um (or {advice.least_step}: loose)"
    if advice.most_um is None:
        return least
    most = f"at most {advice.most_um:.0f} um" if advice.most_um > 0 else "at most none"
    yields = f"over {100 * advice.yield_leaves_out:g} % of the block yields"
    what = yields if advice.most_by == YIELD else "out of round"
    return f"{least}, {most} (or {advice.most_step}: {what})"


def _notes(result: CaseResult) -> list[str]:
    """What to say below the table of spots that can't be rated, or whose error is large."""
    from cases.around import UNSETTLED_TEXT, sharp_text
    from cases.case import PARENT_PARTS

    notes = []
    shown = [
        spot
        for design in result.designs
        for parts in (PARENT_PARTS, ("liner",), ("insert",))
        for spot in _worst(design, parts)
    ]
    if not all(spot.settled for spot in shown):
        notes.append(f"* {UNSETTLED_TEXT}; report.html tells the error.")
    left_out: dict[str, list[str]] = {}
    for design in result.designs:
        for spot in design.hot_spots:
            if spot.sharp:
                where = f"{design.name}, {_part(design.section.block, spot)} {spot.clock}"
                left_out.setdefault(sharp_text(design, spot), []).append(where)
    notes += [f"Left out: {'; '.join(places)}. {text}" for text, places in left_out.items()]
    return notes


def _row(design: DesignResult, bare: DesignResult | None, others: Sequence[str]) -> tuple[str, ...]:
    from cases.case import PARENT_PARTS

    place = stress = against = ""
    twins = _worst(design, PARENT_PARTS)
    if twins:
        block = design.section.block
        place = "\n".join(f"{_part(block, spot)} {spot.clock}" for spot in twins)
        stress = "\n".join(map(_marked, twins))
        from_bare = _worst(bare, PARENT_PARTS) if bare is not None else []
        if bare is not design and from_bare:
            against = f"{100 * (_largest(twins) / _largest(from_bare) - 1):+.0f} %"
    other_spots = [_worst(design, (name,)) for name in others]
    return (
        design.name,
        place,
        stress,
        against,
        *(_marked(spots[0]) if spots else "" for spots in other_spots),
        f"{design.bore.mean_growth_um:.1f}",
        f"{design.bore.out_of_round_um:.1f}",
        f"{design.open_area_mm2:.0f}",
        f"{design.insert_area_mm2:.0f}",
    )


def _worst(design: DesignResult, parts: Sequence[str]) -> list[HotSpot]:
    """The worst spot of some parts that can be rated, and its twins."""
    from fea.hotspots import TWINS

    rated = [spot for spot in design.hot_spots if spot.part in parts and not spot.sharp]
    return [spot for spot in rated if spot.principal_mpa >= (1 - TWINS) * _largest(rated)]


def _largest(spots: Sequence[HotSpot]) -> float:
    """Largest principal stress. [MPa]."""
    return max(spot.principal_mpa for spot in spots)


def _marked(spot: HotSpot) -> str:
    """Stress of a spot, with a star where its error is not within the tolerance. [MPa]."""
    return f"{spot.principal_mpa:.0f}{'' if spot.settled else '*'}"


def _part(block: Block, spot: HotSpot) -> str:
    """Part, with the number of its bore where that is another than the firing one."""
    away = [abs(spot.x_mm - axis) for axis in block.axes]
    bore = away.index(min(away)) + 1
    return spot.part if bore == block.firing_bore else f"{spot.part}, bore {bore},"
