"""The seam by which a subject joins: what it asks of a case file, what it solves, what it shows.

A subject is a folder of ``cases`` and a word in :mod:`cases.subjects`. Its package holds one
``SUBJECT``; a hook that a subject doesn't write says nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from concurrent.futures import Executor

    import click
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table

Progress = Callable[[str, str], None]
Usual = tuple[str, float]
"""A stage and the processor time that it takes of a design of the bundled case, about; what is left
of a run is told by their ratios. [s]."""
"""Told the name of a design and the stage of the run that begins."""


class Drawn(Protocol):
    """A design of a case with its outline."""

    @property
    def name(self) -> str:
        """Of the design."""

    @property
    def section(self) -> Any:
        """:class:`geometry.DeckSection`."""

    @property
    def outline(self) -> Any:
        """:class:`geometry.outline.Outline`."""


class Solved(Protocol):
    """A solved case, as a subject sees it."""

    @property
    def case(self) -> Any:
        """:class:`cases.case.Case`."""

    @property
    def designs(self) -> Sequence[Any]:
        """In the order of the case; each has ``found``, its findings by the key of a subject."""

    @property
    def found(self) -> Mapping[str, Any]:
        """Findings about the case as a whole, by the key of their subject."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Work:
    """What a subject solves from.

    Attributes
    ----------
    found : dict
        Findings of the subjects before, by key; of a subject that works by design those of the
        same design as well.
    drawn : Drawn or None
        The design to be solved; None for a subject that works on the case as a whole.
    designs : sequence
        All solved designs; empty for a subject that works by design.
    live : dict
        What a subject leaves to those right behind it in the list that work by design too, for the
        same design; it is not kept.
    stage : callable
        A context that announces, times and names a stage of the design's run.
    """

    case: Any
    found: Mapping[str, Any]
    tell: Progress
    drawn: Any = None
    designs: Sequence[Any] = ()
    executor: Executor | None = None
    live: dict[str, Any] = field(default_factory=dict)
    stage: Callable[[str], AbstractContextManager[None]] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """One cell of the table at a glance, with its heading."""

    heading: str  # on the page; lines apart by a line feed
    text: str
    short: str = ""  # in the terminal; empty where it is the same
    values: tuple[float, ...] = ()  # the numbers that the text shows, in the unit of the heading
    words: bool = False  # text, to be set to the left
    lines: tuple[str, ...] = ()  # of the terminal where it shows more than the page

    @property
    def terminal_heading(self) -> str:
        """In the terminal."""
        return self.short or self.heading


@dataclass(frozen=True, kw_only=True, slots=True)
class TextTable:
    """A table for the terminal."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = (0,)  # columns of text, set to the left


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class Chapter:
    """A chapter of the report.

    The caption of the table at a glance refers to each chapter that has words for it, and to the
    first chapter of a subject with columns there of which none has, by its title.
    """

    key: str  # by which other chapters refer to it
    title: str
    template: str | Path  # as :func:`cases.base.templates.render` takes it
    contents: Mapping[str, Any]
    appendix: bool = False  # after all chapters that are none
    glance: str = ""  # words for the caption of the table at a glance
    finding: str = ""  # what it comes to, in one sentence


class Subject:
    """One part of the job: what it asks of a case, what it computes, what it shows.

    Attributes
    ----------
    key : str
        Its folder, and where its input and findings are kept.
    after : tuple of str
        Subjects whose findings it reads.
    by_design : bool
        Whether it solves design by design, each with its findings of the subjects before at hand.
    long : bool
        Whether that takes so long that processes side by side pay.
    on_page : bool
        Whether what its ``lines`` say is left to the page where there is a verdict.
    in_verdict : bool
        Whether what its ``first_lines`` say stands in the rows of a verdict on the page.
    """

    key: str
    after: tuple[str, ...] = ()
    by_design = False
    long = False
    on_page = False
    in_verdict = False

    def table(self) -> type[Table] | None:
        """Its keys at the top level of a case file."""
        return None

    def adds(self) -> Mapping[str, type[Table]]:
        """Keys that it adds to the tables of others, by the table's key."""
        return {}

    def given(self, table: Any, case: Any, faults: Faults) -> Any:
        """Its input, ``case.given[key]``: what the case states of it.

        Faults are gathered. No engine is run, no mesh made.

        Parameters
        ----------
        table : pydantic.BaseModel
            The whole case file.
        case : Case
            Block and designs, with the input of the subjects before.
        faults : Faults
        """
        return None

    def changed(self, case: Any, faults: Faults) -> Any:
        """The case as its input leaves it, told right after ``given``: the block as it was found.

        Parameters
        ----------
        case : Case
            With the input of this subject.
        faults : Faults
        """
        return case

    def look(self, case: Any, drawn: Sequence[Drawn], faults: Faults) -> None:
        """Gather the faults that can be told once all designs are drawn."""

    def asked(self, case: Any, rate: bool) -> bool:
        """Whether a run solves it."""
        return False

    def ignored(self, case: Any, rate: bool) -> str:
        """What to say where a case states something that the run doesn't look at."""
        return ""

    def stages(self, case: Any) -> Sequence[Usual]:
        """The stages that it announces in a run, of each design if it works by design."""
        return ()

    def solve(self, work: Work) -> Any:
        """Its finding: a frozen dataclass that can be sent to another process, or None.

        Raises
        ------
        CaseError
            If the case asks for what can't be.
        RunError
            If it can't be solved.
        """
        raise NotImplementedError

    def case_data(self, result: Any) -> Mapping[str, Any]:
        """Keys of ``results.json`` about the case as a whole."""
        return {}

    def data(self, result: Any, design: Any) -> Mapping[str, Any]:
        """Keys of a design in ``results.json``."""
        return {}

    def maps(self, result: Any) -> Iterator[tuple[str, Figure]]:
        """Name and figure of each picture of fields over the section, which take longest."""
        return iter(())

    def figures(self, result: Any) -> Iterator[tuple[str, Figure]]:
        """Name and figure of each other picture."""
        return iter(())

    def write(self, result: Any, folder: Path) -> None:
        """Write files of its own, beside pictures, page and ``results.json``."""

    def chapters(self, result: Any) -> Sequence[Chapter]:
        """Its chapters of the report."""
        return ()

    def first_lines(self, result: Any) -> Sequence[str]:
        """What has to be read before anything else, in the terminal and on the page."""
        return ()

    def columns(self, result: Any, design: Any) -> Sequence[Column]:
        """Its cells of a design in the table at a glance, the same headings for all designs."""
        return ()

    def lines(self, result: Any) -> Sequence[str | TextTable]:
        """What it says in the terminal below that table."""
        return ()

    def limits(self, result: Any) -> Sequence[str]:
        """What its model can and can't see, for the last chapter."""
        return ()

    def cautions(self, result: Any) -> Sequence[str]:
        """Cautions beside those of every report."""
        return ()

    def assumed(self, result: Any) -> Sequence[tuple[str, str]]:
        """Key of each input that the case leaves out, and what stood for it where that counted."""
        return ()

    def commands(self) -> Sequence[click.Command]:
        """Verbs of its own."""
        return ()
