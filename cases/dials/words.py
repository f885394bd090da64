"""What the page says: the row of each design, the verdict's line, how to tell quick from judged."""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import TYPE_CHECKING

from cases.base.spoken import Spoken
from cases.dials.plan import Shade
from cases.verdict.result import FAILS, HOLDS, MARGINAL

if TYPE_CHECKING:
    from cases.dials.answer import Fit, Judged

QUICK = (
    "Quick look, by the section: a mean over the depth, cold, the insert one piece with the block. "
    "It shows where the metal is pulled, not what a design carries."
)
FIRST = (
    "By the coarse solid, fitted and warm, at the wanted load alone; fit and walls as stated, not "
    "drawn. The verdict follows, with the limit."
)
SEEKS_FIRST = "First answer, at the wanted load alone: being found."
JUDGED = "By the {setting} solid: fitted, and warm where the case says what heats it."
RANKED = (
    " Bore {bore} fires, as by sections it is the worst: a report judges the two worst by solids."
)
BARE_UNSOLVED = "The bare block is not solved here; a report holds the window against it too."
LESS_IS_BETTER = ("out of round", "hottest barrel", "insert")
CLASSES = {HOLDS: "holds", MARGINAL: "marginal", FAILS: "fails"}


def rows_html(rows: Sequence[tuple[str, Judged | None, bool]], spoken: Spoken) -> str:
    """A table of designs, what differs from the one that it started from marked.

    Parameters
    ----------
    rows : sequence of (str, Judged or None, bool)
        Name, verdict, and whether that is of another setting; the one it started from second.
    spoken : Spoken
        Units of the case.
    """
    heads = next((list(of.cells) for _, of, _ in rows if of), [])
    if not heads:
        return ""
    start = rows[1][1]
    body = []
    for at, (name, judged, old) in enumerate(rows):
        cells = []
        for head in heads:
            told = judged.cells[head] if judged else ""
            mark = "" if at == 1 or old else _mark(head, judged, start, spoken)
            cells.append(f"<td>{html.escape(told)}{mark}</td>")
        note = (
            " (before the last move)" if old and judged else "" if judged else " (not judged yet)"
        )
        body.append(
            f'<tr class="{"old" if old else ""}"><th scope="row">{html.escape(name)}'
            f'<span class="soft">{note}</span></th>{"".join(cells)}</tr>'
        )
    head = "".join(f'<th scope="col">{html.escape(of)}</th>' for of in heads)
    return (
        f'<table><thead><tr><th scope="col">design</th>{head}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table>"
    )


def fit_told(fit: Fit | None, seeking: bool) -> str:
    """Which fit to make, or that it is being looked for; empty where none is asked.

    Parameters
    ----------
    fit : Fit or None
        As far as it is known.
    seeking : bool
        Whether other fits are being solved.
    """
    if fit is None:
        return "Fit to make: being looked for." if seeking else ""
    return f"Fit to make: {fit.words}. {fit.outside}".strip()


def _mark(head: str, judged: Judged | None, start: Judged | None, spoken: Spoken) -> str:
    """By how much a number differs, in words and by an arrow; nothing where it hardly does."""
    if judged is None or start is None:
        return ""
    now, before = judged.numbers.get(head), start.numbers.get(head)
    if now is None or before is None or round(now) == round(before):
        return ""
    unit = {
        "carries": "bar", "out of round": "um", "hottest barrel": "degC", "open water": "mm2",
        "insert": "g",
    }.get(head, "")  # fmt: skip
    change = now - before
    if unit == "degC" and spoken.unit("degC") == "degF":
        told = f"{1.8 * change:+.0f} degF"
    else:
        told = spoken.told(f"{change:+.0f} {unit}".strip())
    better = (change < 0) == (head in LESS_IS_BETTER)
    arrow = "\u25b2" if change > 0 else "\u25bc"
    kind = "better" if better else "worse"
    return f'<br><span class="{kind}">{arrow} {html.escape(told)} {kind}</span>'


def scale_html(shade: Shade | None, spoken: Spoken) -> str:
    """The colours of a picture with the ends of their scale."""
    if shade is None:
        return ""
    low, high = (spoken.told(f"{of:.0f} {shade.unit}") for of in (shade.low, shade.high))
    return (
        f'<span>{html.escape(shade.title)}: {html.escape(low)}</span> <span aria-hidden="true" '
        'style="display:inline-block;width:8rem;max-width:100%;height:0.8rem;vertical-align:middle;'
        "background:linear-gradient(90deg,#00224e,#35456c,#666970,#948e77,#c8b866,#fee838)"
        f'"></span> <span>{html.escape(high)}</span>'
    )


def share_words(share: float) -> str:
    """How much of a run is done, such as "about 40 %"; nothing at its begin."""
    return f", about {100 * share:.0f} % done" if share > 0.005 else ""
