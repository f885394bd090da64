"""Pages from templates: self-contained, in one look."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from geometry.clock import format_clock


def render(template: str, **contents: Any) -> str:
    """A page of a template, named from the folder of all subjects,, with what it is to show."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parents[1]), autoescape=True,
        undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        finalize=_unsigned_nothing,
    )  # fmt: skip
    environment.filters["clock"] = format_clock
    return environment.get_template(template).render(**contents)


def _unsigned_nothing(shown: Any) -> Any:
    """What a template shows, a rounded zero without its minus."""
    if isinstance(shown, str) and re.fullmatch(r"-0(\.0*)?", shown):
        return shown[1:]
    return shown
