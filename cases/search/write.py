"""What a search leaves in its folder: numbers, and the case with the designs it found."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from cases.base.cautions import CAUTIONS
from cases.base.data import plain
from cases.base.version import __version__
from cases.search.seek import Result
from cases.search.sensitivity import sensitivities
from cases.search.words import beside_uniform, closing_lines, first_sentence, is_uniform

FOLDER, STORE = "search", "search.sqlite"
CASE, DATA, PICTURE = "case.toml", "search.json", "front"
"""Names of the folder among the results of a case, and of what is in it."""


def search_dict(result: Result, names: Sequence[str]) -> dict[str, Any]:
    """The content of ``search.json``."""
    given, moves = result.given, sensitivities(result)
    return plain(  # type: ignore[no-any-return]
        {
            "hoopclock": __version__,
            "sentence": first_sentence(result, list(names)),
            "seed": result.seed,
            "wanted": list(given.wanted),
            "chosen": list(given.chosen),
            "interrupted": result.interrupted,
            "front": [
                {
                    "design": name, "bend": at == result.knee, "point": dict(member.point),
                    **member.found.said(), "uniform": is_uniform(member),
                    "over_uniform": beside_uniform(result, member),
                }
                for at, (name, member) in enumerate(zip(names, result.front, strict=True))
            ],
            "coarse": [
                {"point": dict(of.point), **of.coarse.said(), "uniform": is_uniform(of)}
                for of in result.seen
            ],
            "sensitivities": [
                {"free": of.name, "from": of.least, "to": of.most,
                 "moves": dict(zip(given.wanted, of.moves, strict=True))}
                for of in moves or ()
            ],
            "refused": dict(result.refused),
            "failed": list(result.failed),
            "left": result.left,
            "notes": closing_lines(result),
            "cautions": list(CAUTIONS),
        }
    )  # fmt: skip


def with_designs(text: str, designs: Sequence[Mapping[str, Any]]) -> str:
    """A case file with further designs at its end, all else as it was typed.

    Parameters
    ----------
    text : str
    designs : sequence of mapping
        Tables of designs.

    Examples
    --------
    >>> print(with_designs('job = "one"  # mine', [{"name": "found 1", "depth": "5 mm"}]))
    job = "one"  # mine
    <BLANKLINE>
    [[design]]
    name = "found 1"
    depth = "5 mm"
    <BLANKLINE>
    """
    import tomlkit

    added = tomlkit.dumps({"design": [dict(of) for of in designs]}) if designs else ""
    old = tomlkit.parse(text)
    if isinstance(old.get("design"), tomlkit.items.Array):  # designs in one line each
        for of in designs:
            old["design"].append(dict(of))
        return tomlkit.dumps(old)
    gap = "" if text.endswith("\n") else "\n"
    return f"{text}{gap}\n{added}" if added else text


def write_search(result: Result, names: Sequence[str], text: str, folder: Path) -> None:
    """Write both.

    Parameters
    ----------
    result : Result
    names : sequence of str
        Of the members of the front.
    text : str
        The case file.
    folder : Path
        Must exist.
    """
    designs = [{**of.table, "name": name} for name, of in zip(names, result.front, strict=True)]
    (folder / CASE).write_text(with_designs(text, designs), encoding="utf-8")
    (folder / DATA).write_text(
        json.dumps(search_dict(result, names), indent=1, allow_nan=False) + "\n", encoding="utf-8"
    )
