"""What every verb needs: one message for an error, an end that leaves nothing, places to write."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from os import PathLike
from pathlib import Path
from types import FrameType
from typing import NoReturn

import click

from cases.base.faults import MORE_ROOM, CaseError, Fault, RunError, memory_ran_out, printable

_LONGEST_LINE = 1500  # of a message [characters]


class InputWrong(click.ClickException):
    """What was asked for can't be: exit status 2."""

    exit_code = 2


class RunFailed(click.ClickException):
    """What was asked for was sound, and failed: exit status 1."""

    exit_code = 1


@contextmanager
def errors_in_one_message() -> Iterator[None]:
    """Make an error one clear message and an exit status.

    Raises
    ------
    InputWrong, RunFailed
    """
    try:
        yield
    except CaseError as error:
        raise InputWrong(str(error)) from None
    except BrokenPipeError:  # whoever reads the output has seen enough
        raise
    except Exception as error:  # a traceback tells a machinist nothing
        if memory_ran_out(error):
            raise RunFailed(f"the run failed: memory ran out. {MORE_ROOM}") from None
        what = str(error) if isinstance(error, RunError) else f"{type(error).__name__}: {error}"
        lines = f"the run failed: {what}".splitlines()
        raise RunFailed("\n".join(printable(line, _LONGEST_LINE) for line in lines)) from None


@contextmanager
def ended_by_signals() -> Iterator[None]:
    """Let a signal that ends the command unwind it first, so that nothing of it is left.

    Raises
    ------
    SystemExit
        When such a signal comes, with 128 and its number.
    """
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


class OutPath(click.Path):
    """A path for results; an empty one would be the folder at work."""

    def convert(
        self,
        value: str | PathLike[str],
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> str | bytes | PathLike[str]:
        """The path, as click converts it.

        Raises
        ------
        InputWrong
            If it is empty.
        click.BadParameter
            If click refuses it.
        """
        if isinstance(value, str) and not value.strip():
            option = param.opts[0] if param else ""
            leave = "" if isinstance(param, click.Argument) else f", or leave {option} away"
            text = f"It is empty. Name a folder or file{leave}."
            raise InputWrong(str(CaseError("output", [Fault(option, text, '""')])))
        return super().convert(value, param, ctx)


def require_place(out: Path, option: str, name: str) -> None:
    """Refuse a page that can't be written, before anything is solved.

    Parameters
    ----------
    out : Path
        Of the page.
    option : str
        That it was named by.
    name : str
        What the page may be called in a folder.

    Raises
    ------
    CaseError
        If it is a folder, a link that leads nowhere, or in no folder.
    """
    if out.is_symlink() and not out.exists():
        raise no_place(out, option, "It is a link that leads nowhere. Choose another.")
    if out.is_dir():
        text = f"A folder has that name. To write into it: {option} {out / name}"
        raise no_place(out, option, text)
    if not out.absolute().parent.is_dir():
        text = f"There is no folder {out.parent}. Make it first, or choose another."
        raise no_place(out, option, text)


@contextmanager
def page_written(out: Path, option: str) -> Iterator[None]:
    """Say which page can't be written.

    Raises
    ------
    CaseError
        In place of any OSError.
    """
    try:
        yield
    except OSError as error:
        raise no_place(out, option, f"It can't be written: {error.strerror}.") from None


def no_place(out: Path, option: str, text: str) -> CaseError:
    """What an option names that can't be written, and why."""
    return CaseError("output", [Fault(option, text, f'"{out}"')])
