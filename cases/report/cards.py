"""Tables whose rows turn into cards where a page is narrow: each cell carries its heading."""

from __future__ import annotations

import re

_TABLE = re.compile(r"<table\b(?P<given>[^>]*)>.*?</table>", re.DOTALL)
_HEAD = re.compile(r"<thead>(.*?)</thead>", re.DOTALL)
_HEADING = re.compile(r"<th\b[^>]*>(.*?)</th>", re.DOTALL)
_ROW = re.compile(r"<tr>.*?</tr>", re.DOTALL)
_CELL = re.compile(r"<td\b(?P<given>[^>]*)>")
_SPAN = re.compile(r'colspan="(\d+)"')


def with_cards(page: str) -> str:
    """A page, or a piece of it, whose tables with a head have their headings in each cell too.

    Tables that have them already are left as they are.

    Parameters
    ----------
    page : str
        HTML, each element closed, no table within a table.

    Examples
    --------
    >>> with_cards(
    ...     "<table><thead><tr><th>peak<br>[bar]</th></tr></thead>"
    ...     "<tbody><tr><td>95</td></tr></tbody></table>"
    ... ).split("<tbody>")[1]
    '<tr><td data-name="peak [bar]">95</td></tr></tbody></table>'
    """
    return _TABLE.sub(_named, page)


def _named(table: re.Match[str]) -> str:
    head = _HEAD.search(table[0])
    if head is None or "cards" in table["given"]:
        return table[0]
    names = [" ".join(re.sub(r"<[^>]*>", " ", one).split()) for one in _HEADING.findall(head[1])]

    def row(found: re.Match[str]) -> str:
        place = 0

        def cell(td: re.Match[str]) -> str:
            nonlocal place
            name = names[place] if place < len(names) else ""
            span = _SPAN.search(td["given"])
            place += int(span[1]) if span else 1
            return f'<td{td["given"]} data-name="{name.replace(chr(34), "&quot;")}">'

        return _CELL.sub(cell, found[0])

    before, after = table[0][: head.end() - table.start()], table[0][head.end() - table.start() :]
    return before + _ROW.sub(row, after)
