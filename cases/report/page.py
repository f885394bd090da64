"""The report: one page that tells the story of a solved case, readable with no network."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

from markupsafe import Markup

from cases.base.cautions import CAUTIONS
from cases.base.subject import Chapter, Subject
from cases.base.templates import render
from cases.base.version import __version__
from cases.gas.solve import gas_of
from cases.report.cards import with_cards
from cases.report.glossary import GLOSSARY, with_links
from cases.report.in_units import page_in
from cases.report.panels import png_address, shown_panels, svg_address
from cases.report.terminal import first_lines, quick_look
from cases.stress.result import CaseResult
from cases.subjects import SUBJECTS
from cases.verdict.read import verdict_of
from cases.verdict.top import TEMPLATE, top_contents

LIMITS = "limits"
"""Key of the last chapter, which is the report's own."""


@dataclass(frozen=True, slots=True)
class Told:
    """A chapter as it stands on the page."""

    key: str
    title: str
    html: Markup
    appendix: bool
    finding: str


def write_report(
    result: CaseResult, folder: str | Path, subjects: Sequence[Subject] = SUBJECTS
) -> Path:
    """Write ``report.html``, with its pictures inside.

    Chapters stand in the order of the subjects, appendices after them, each with its number.

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Where :func:`cases.report.pictures.write_pictures` has left the pictures of the same result.
    subjects : sequence of Subject
        In order.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    OSError
        If a picture is missing or the page can't be written.
    ValueError
        If two chapters have the same key.
    """
    folder = Path(folder)
    stated = [tuple(subject.chapters(result)) for subject in subjects]
    ordered = sorted(chain.from_iterable(stated), key=lambda chapter: chapter.appendix)
    number = {key: place for place, key in enumerate([*(one.key for one in ordered), LIMITS], 1)}
    if len(number) <= len(ordered):
        raise ValueError("two chapters of the report have the same key.")
    shared: dict[str, Any] = {
        "cautions": all_cautions(result, subjects),
        "case": result.case,
        "result": result,
        "number": number,
        "picture": lambda name: _data_address(folder / name),
        "panels": lambda name: shown_panels(folder / name),
        "wide": lambda name: _width(folder / name),
    }
    chapters = [
        Told(
            one.key, one.title, with_links(render(one.template, **shared | dict(one.contents))),
            one.appendix, one.finding,
        )
        for one in ordered
    ]  # fmt: skip
    verdict = verdict_of(result)
    besides = [one for one in subjects if not (verdict and one.in_verdict)]
    page = render(
        "report/page.html.j2",
        **shared,
        verdict=verdict,
        top=with_links(render(TEMPLATE, **shared | top_contents(verdict))) if verdict else "",
        quick_look=quick_look(result),
        version=__version__,
        made=datetime.datetime.now().astimezone().strftime("%Y-%m-%d %H:%M %Z"),
        gas=gas_of(result),
        first_lines=[
            line
            for line in first_lines(result, besides)
            if verdict is None or line not in verdict.told_first
        ],
        columns=[
            [column for subject in subjects for column in subject.columns(result, design)]
            for design in result.designs
        ],
        glance=[
            pair
            for subject, own in zip(subjects, stated, strict=True)
            for pair in _glance(own, bool(subject.columns(result, result.designs[0])))
        ],
        chapters=chapters,
        limits=[limit for subject in subjects for limit in subject.limits(result)],
        assumed=[
            f"{key}: {words}" for subject in subjects for key, words in subject.assumed(result)
        ],
        glossary=GLOSSARY,
    )
    path = folder / "report.html"
    path.write_text(with_cards(page_in(page, result.case)), encoding="utf-8")
    return path


def _glance(chapters: Sequence[Chapter], has_columns: bool) -> list[tuple[str, str]]:
    """Key and words of the chapters of a subject that the table at a glance refers to."""
    worded = [(chapter.key, chapter.glance) for chapter in chapters if chapter.glance]
    if worded or not has_columns:
        return worded
    return [(chapter.key, chapter.title) for chapter in chapters[:1]]


def all_cautions(result: CaseResult, subjects: Sequence[Subject] = SUBJECTS) -> list[str]:
    """The cautions of every report, and those of the subjects that found something."""
    return [*CAUTIONS, *(text for subject in subjects for text in subject.cautions(result))]


def _width(path: Path) -> int:
    """Width at which a picture's letters have the size that they were drawn in; 0: none. [px]."""
    if not path.exists():
        return 0
    if path.suffix == ".svg":
        head = path.read_text(encoding="utf-8")[:2000]
        found = re.search(r'<svg\b[^>]*\bwidth="([\d.]+)pt"', head)
        return round(float(found[1]) * 96 / 72) if found else 0
    from PIL.Image import open as picture_of

    with picture_of(path) as picture:
        return round(picture.width * 96 / picture.info["dpi"][0])


def _data_address(path: Path) -> Markup:
    """A picture as an address that holds all of it."""
    if path.suffix == ".svg":
        return svg_address(path.read_text(encoding="utf-8"))
    return png_address(path.read_bytes())
