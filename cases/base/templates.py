"""Pages from templates: self-contained, in one look."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from geometry.clock import format_clock


def render(template: str | Path, **contents: Any) -> str:
    """A page of a template, with what it is to show.

    Parameters
    ----------
    template : str or Path
        Its name from the folder of all subjects on, or the path of one that stands elsewhere.
    **contents
        What the template names; a name that is missing is an error.
    """
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parents[1]), autoescape=True,
        undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        finalize=_unsigned_nothing,
    )  # fmt: skip
    environment.filters["clock"] = format_clock
    if isinstance(template, Path):
        return environment.from_string(template.read_text(encoding="utf-8")).render(**contents)
    return environment.get_template(template).render(**contents)


def _unsigned_nothing(shown: Any) -> Any:
    """What a template shows, a rounded zero without its minus."""
    if isinstance(shown, str) and re.fullmatch(r"-0(\.0*)?", shown):
        return shown[1:]
    return shown
