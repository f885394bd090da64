"""The folder that a run writes into: its files arrive together at the end, or none does."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cases.base.faults import CaseError, Fault
from cases.base.subject import Solved

_OWN_ENDINGS = {".html", ".png", ".svg", ".vtu"}


@contextmanager
def output_folder(out: str | Path) -> Iterator[Path]:
    """An empty folder for the block under ``with``; what is in it moves to ``out`` at the end.

    If the block raises, nothing of it is left. Files of an earlier run in ``out`` (those that its
    ``results.json`` lists under ``files``) are replaced or removed; all others stay.

    Raises
    ------
    CaseError
        If ``out`` can't be written to; told before the block starts.
    """
    out = Path(out).absolute()
    missing: list[Path] = []
    try:
        missing = [folder for folder in (out, *out.parents) if not folder.exists()]
        home = out if not missing else missing[-1].parent
        if not home.is_dir():
            raise NotADirectoryError(20, "a file of that name is in the way")
        temporary = Path(tempfile.mkdtemp(prefix=".hoopclock-", dir=home))
    except OSError as error:
        fault = Fault(
            "--out",
            f"The folder can't be written to: {error.strerror}. Choose another with --out.",
            f'"{out}"',
        )
        raise CaseError("output", [fault]) from None
    try:
        fresh = temporary / "files"
        fresh.mkdir()
        yield fresh
        if missing:
            out.parent.mkdir(parents=True, exist_ok=True)
            fresh.rename(out)
        else:
            _replace(fresh, out)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


def _replace(fresh: Path, out: Path) -> None:
    """Move files into a folder that exists, ``results.json`` last, and clear what is stale."""
    stale = _files_of_earlier_run(out) - {path.name for path in fresh.iterdir()}
    for path in sorted(fresh.iterdir(), key=lambda path: (path.name == "results.json", path.name)):
        path.replace(out / path.name)
    for name in stale:
        (out / name).unlink(missing_ok=True)


def _files_of_earlier_run(out: Path) -> set[str]:
    with suppress(OSError, ValueError, KeyError, TypeError):
        names = json.loads((out / "results.json").read_text(encoding="utf-8"))["files"]
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
