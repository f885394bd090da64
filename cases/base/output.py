"""The folder that a run writes into: its files arrive together at the end, or none does."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cases.base.faults import CaseError, Fault, require_printable
from cases.base.subject import Solved

_OWN_ENDINGS = {".html", ".png", ".svg", ".vtu"}
_RESULTS = "results.json"
RATED = "rated.json"
"""What ``rate`` found; a run that rates nothing leaves it standing."""
_HIDDEN = ".hoopclock-"  # begins the name of the folder that a run fills
_LOCK = ".hoopclock.lock"  # held by the run that writes, as long as its process lives


@contextmanager
def output_folder(
    out: str | Path, case_file: str | Path | None = None, *, leaves: Collection[str] = ()
) -> Iterator[Path]:
    """An empty folder for the block under ``with``; what is in it moves to ``out`` at the end.

    If the block raises, nothing of it is left. Files of an earlier run in ``out`` (those that its
    ``results.json`` lists under ``files``) are replaced or removed; all others stay, and so does
    what was rated until it is rated again. What a run that was killed left in ``out`` is cleared.

    Parameters
    ----------
    out : str or Path
        Made where there is none.
    case_file : str or Path, optional
        Refused where it lies in ``out`` under a name that a result may have.
    leaves : collection of str
        Names of files that the block leaves besides results.

    Raises
    ------
    CaseError
        If ``out`` can't be written to, another run is writing into it, or something in it that is
        no result has a result's name; told before the block starts.
    """
    require_printable("output", "--out", out)
    out = Path(out).absolute()
    with _made(out), _alone_in(out):
        try:
            _clear_dead_runs(out)
            _require_names(out, case_file, leaves)
            fresh = Path(tempfile.mkdtemp(prefix=_HIDDEN, dir=out))
        except OSError as error:
            raise _refusal(out, f"The folder can't be written to: {error.strerror}.") from None
        try:
            yield fresh
            _replace(fresh, out)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)


def _refusal(out: Path, text: str) -> CaseError:
    return CaseError("output", [Fault("--out", f"{text} Choose another with --out.", f'"{out}"')])


@contextmanager
def _made(out: Path) -> Iterator[None]:
    """A folder, made with those above it; those that were made and are empty go at the end."""
    made: list[Path] = []
    try:
        try:
            astray = next(
                (at for at in (out, *out.parents) if at.is_symlink() and not at.exists()), None
            )
            if astray:
                raise _refusal(out, f"{astray} is a link that leads nowhere.")
            missing = [folder for folder in (out, *out.parents) if not folder.exists()]
            if not (out if not missing else missing[-1].parent).is_dir():
                raise _refusal(out, "A file of that name is in the way.")
            for folder in reversed(missing):
                folder.mkdir(exist_ok=True)
                made.append(folder)
        except OSError as error:
            raise _refusal(out, f"The folder can't be written to: {error.strerror}.") from None
        yield
    finally:
        with suppress(OSError):  # they are not empty
            for folder in reversed(made):
                folder.rmdir()


@contextmanager
def _alone_in(out: Path) -> Iterator[None]:
    """Hold the folder; the system lets go of it when the process ends, however it ends."""
    from filelock import FileLock, Timeout

    lock = FileLock(out / _LOCK)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise _refusal(out, "Another run is writing into this folder. Wait for its end.") from None
    except OSError as error:
        raise _refusal(out, f"The folder can't be written to: {error.strerror}.") from None
    try:
        yield
    finally:
        with suppress(OSError):  # some systems remove it by themselves, and only when it is let go
            (out / _LOCK).unlink()
        lock.release()


def _clear_dead_runs(out: Path) -> None:
    """Remove what runs left that were killed; one that lives would hold the lock."""
    for left in out.glob(f"{_HIDDEN}*"):
        if left.is_dir() and not left.is_symlink():
            shutil.rmtree(left, ignore_errors=True)


def _require_names(out: Path, case_file: str | Path | None, leaves: Collection[str]) -> None:
    """Refuse what would be written over, or would be in the way of a result."""
    for path in out.iterdir():
        name = path.name.lower()
        if path.suffix.lower() not in _OWN_ENDINGS and name not in {_RESULTS, RATED, *leaves}:
            continue
        if path.exists() and not path.is_file():
            kind = "folder" if path.is_dir() else "device"
            raise _refusal(out, f"A {kind} in it has a result's name, {path.name}. Rename it.")
        if case_file and name not in leaves and path.exists() and path.samefile(case_file):
            raise _refusal(
                out, f"The case file lies in it under a result's name, {path.name}. Rename it."
            )


def _replace(fresh: Path, out: Path) -> None:
    """Move files into a folder that exists, ``results.json`` last, and clear what is stale."""
    stale = _files_of_earlier_run(out) - {path.name for path in fresh.iterdir()}
    for path in sorted(fresh.iterdir(), key=lambda path: (path.name == _RESULTS, path.name)):
        path.replace(out / path.name)
    for name in stale:
        with suppress(OSError, ValueError):  # no name that a run of ours left
            (out / name).unlink()


def _files_of_earlier_run(out: Path) -> set[str]:
    with suppress(OSError, ValueError, KeyError, TypeError, RecursionError):
        names = json.loads((out / _RESULTS).read_text(encoding="utf-8"))["files"]
        return {
            name
            for name in map(str, names)
            if Path(name).name == name and Path(name).suffix in _OWN_ENDINGS
        }
    return set()


def file_keys(result: Solved) -> dict[str, str]:
    """File-name form of each design's name: lower case letters, digits and hyphens, all unlike."""
    keys: dict[str, str] = {}
    for design in result.designs:
        plain = re.sub(r"[^a-z0-9]+", "-", design.name.lower()).strip("-") or "design"
        key, number = plain, 2
        while key in keys.values():
            key, number = f"{plain}-{number}", number + 1
        keys[design.name] = key
    return keys
