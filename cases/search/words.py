"""What a search has come to, in words and as a table."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Mapping

from cases.base.cautions import CAUTIONS
from cases.base.subject import TextTable
from cases.search.found import WANTED, Found, lacks
from cases.search.seek import MOST_FINE, Result, Seen
from cases.search.sensitivity import sensitivities
from cases.search.table import LIMIT, TAKEN

MEMBER = "found"
"""Begins the names of the designs that are appended."""


def told_lines(result: Result, names: list[str]) -> list[str | TextTable]:
    """All that the terminal says, the sentence first."""
    told: list[str | TextTable] = [first_sentence(result, names)]
    if result.front:
        told.append(front_table(result, names))
    if table := sensitivity_table(result):
        told.append(table)
    return [*told, *closing_lines(result), *CAUTIONS]


def member_names(result: Result, taken: Iterable[str]) -> list[str]:
    """Names of the members of a front, none of them one that the case has."""
    taken = {name.casefold() for name in taken}
    names: list[str] = []
    number = 0
    while len(names) < len(result.front):
        number += 1
        if f"{MEMBER} {number}".casefold() not in taken:
            names.append(f"{MEMBER} {number}")
    return names


def first_sentence(result: Result, names: list[str]) -> str:
    """Which to make, and why; or why there is none."""
    if not result.front:
        return _none(result)
    member, name = result.front[result.knee], names[result.knee]
    found, first = member.found, result.given.wanted[0]
    if sum(of.fine is not None for of in result.seen) == 1:
        because = "no other has been judged by a fine solid yet"
    elif len(result.front) == 1:
        because = "no other design of those judged by fine solids is better in anything wanted"
    else:
        rest = [of for of in range(len(result.front)) if of != result.knee]
        beside = result.front[min(rest, key=lambda of: abs(of - result.knee))]
        other = names[result.front.index(beside)]
        because = (
            f"it is the bend of the front: {other}, the next by {first}, has "
            f"{_and([_change(want, found, beside.found) for want in result.given.wanted])}"
        )
    return f"Make {name} ({point_words(member)}), because {because}. {_stands(found)}"


def _none(result: Result) -> str:
    if result.interrupted:
        return (
            f"Interrupted: no design has been judged by a fine solid yet, {len(result.seen)} by "
            "coarse ones. The same command goes on from there."
        )
    if not result.seen:
        why = f" {result.failed[0]}" if result.failed else ""
        return f"No design could be judged.{why}"
    ruled = Counter(
        demand
        for of in result.seen
        for demand, lack in lacks(result.given, of.found).items()
        if lack > 0
    )
    words = _and([f"{demand} rules out {many}" for demand, many in ruled.most_common()])
    most = max(of.found.limit for of in result.seen)
    judged = "fine" if any(of.fine for of in result.seen) else "coarse"
    well = any(
        all(of <= 0 for of in lacks(result.given, one.found).values()) for one in result.seen
    )
    if well and result.failed:
        return (
            f"No front: of {len(result.seen)} designs judged by coarse solids none that may be in "
            f"it could be judged by a fine one. {result.failed[-1]}"
        )
    if not ruled:
        return (
            f"None of the {len(result.seen)} designs is in front: what is wanted is not known of "
            "them, such as the mass where a material has no density."
        )
    more = " Ease a demand, widen the bounds, or look on with --more 100." if result.ended else ""
    return (
        f"None of the {len(result.seen)} designs judged meets all demands: {words}. The largest "
        f"limit is {most:.2f} of the wanted load (the {judged} solid judges last).{more}"
    )


def _stands(found: Found) -> str:
    """Load, band and place."""
    more = "at least " if found.at_least else ""
    load = f"{found.limit_bar:.0f} bar" if found.limit_bar else f"{found.limit:.2f} times the load"
    band = (
        f" (5 to 95 %: {found.low_bar:.0f} to {found.high_bar:.0f} bar)"
        if found.low_bar and found.high_bar
        else ""
    )
    return f"It carries {more}{load}{band}; it ends at {found.governs}."


def _change(want: str, found: Found, other: Found) -> str:
    asked = WANTED[want]
    one, two = asked.value(found), asked.value(other)
    assert one is not None
    assert two is not None
    return f"{asked.name} {asked.told(two)} in place of {asked.told(one)}"


def _and(parts: list[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def point_words(seen: Seen) -> str:
    """What was chosen, in words; no zone where none is deeper than the insert."""
    told = []
    for name, value in seen.point.items():
        if name.startswith("zone") and "zone" not in seen.table:
            continue
        unit = (
            "um"
            if name == "interference"
            else "deg"
            if name.endswith(("width", "shift")) and (name.startswith("zone"))
            else "mm"
        )
        if isinstance(value, str):
            told.append(value)
        elif not (name == "interference" and "bonded" in seen.table.get("fit", {})):
            told.append(f"{name} {value:g} {unit}")
    if "zone" not in seen.table:
        told.append("uniform")
    return ", ".join(told)


def is_uniform(seen: Seen) -> bool:
    """Whether a design has no deeper zone."""
    return "zone" not in seen.table


def beside_uniform(result: Result, member: Seen) -> float | None:
    """Limit of a design over the best of a uniform one that takes no more water; both coarse.

    None of a uniform one, and where none that was judged takes as little.
    """
    if is_uniform(member):
        return None
    limits = [
        of.coarse.limit
        for of in result.seen
        if is_uniform(of) and of.coarse.taken_mm3 <= member.coarse.taken_mm3
    ]
    return member.coarse.limit / max(limits) if limits else None


def uniform_words(result: Result) -> str:
    """Whether deeper zones beat uniform inserts of no more metal in the water."""
    ratios = [of for member in result.front if (of := beside_uniform(result, member)) is not None]
    zoned = sum(not is_uniform(of) for of in result.seen)
    if not zoned:
        return ""
    beaten = sum(
        (of := beside_uniform(result, seen)) is not None and of <= 1 for seen in result.seen
    )
    told = (
        f"Of {zoned} designs with a deeper zone {beaten} carry no more than a uniform one that "
        "takes no more water (both by coarse solids)."
    )
    if ratios and max(ratios) > 1:
        return f"{told} Of the front the best carries {100 * (max(ratios) - 1):.0f} % more."
    if ratios:
        return f"{told} None of the front does better than that: depth all round pays as well."
    return f"{told} The front has none to compare: no uniform design takes as little as its own."


def front_table(result: Result, names: list[str]) -> TextTable:
    """The members of the front."""
    wanted = result.given.wanted
    heads = [WANTED[of].heading for of in wanted]
    limit = [] if LIMIT in wanted else [WANTED[LIMIT].heading]
    rows = []
    for at, (member, name) in enumerate(zip(result.front, names, strict=True)):
        found, ratio = member.found, beside_uniform(result, member)
        cells = []
        for want in (*wanted, *([LIMIT] if limit else ())):
            value = WANTED[want].value(found)
            cells.append("" if value is None else WANTED[want].shown(value))
        rows.append(
            (
                f"{name}{' (bend)' if at == result.knee and len(names) > 1 else ''}",
                *cells,
                "" if found.limit_bar is None else f"{found.limit_bar:.0f}",
                ""
                if found.low_bar is None or found.high_bar is None
                else f"{found.low_bar:.0f} to {found.high_bar:.0f}",
                "" if found.share is None else f"{100 * found.share:.0f}",
                "uniform" if is_uniform(member) else "" if ratio is None else f"{ratio:.2f}",
                point_words(member),
            )
        )
    return TextTable(
        title="The front, by fine solids: none that was judged is better in all that is wanted",
        headings=tuple(map(_narrow, (
            "design", *heads, *limit, "limit, bar", "5 to 95 %, bar", "draws that carry, %",
            "over a uniform one", "what it is",
        ))),
        rows=tuple(rows),
        words=(0, len(heads) + len(limit) + 5),
    )  # fmt: skip


def _narrow(heading: str) -> str:
    """A heading in short lines, so that the columns of a terminal have room for what is below."""
    return "\n".join(textwrap.wrap(heading, 9))


def sensitivity_table(result: Result) -> TextTable | None:
    """What each free number moves; None where too few designs were judged."""
    found = sensitivities(result)
    if found is None:
        return None
    heads = [WANTED[of].heading for of in result.given.wanted]
    rows = [
        (row.name, f"{row.least} to {row.most}", *(f"{of:+.3g}" for of in row.moves))
        for row in found
    ]
    return TextTable(
        title="What moves it: from its least to its most, all else alike, a straight line through "
        "all designs judged by coarse solids",
        headings=("what is free", "from and to", *map(_narrow, heads)),
        rows=tuple(rows),
        words=(0, 1),
    )


def closing_lines(result: Result) -> list[str]:
    """How much was judged, what was refused, and what is left."""
    fine = sum(of.fine is not None for of in result.seen)
    told = [
        f"Judged: {len(result.seen)} designs by coarse solids, {fine} of them by fine ones"
        f" ({result.reused} results were in the store)."
    ]
    if result.given.chosen:
        told.append(f"As [search] leaves it open, {'; '.join(result.given.chosen)}.")
    if result.refused:
        ruled = _and([f"{reason} {many}" for reason, many in _most(result.refused)])
        told.append(f"Refused before any mesh: {ruled}.")
    if result.failed:
        told.append(
            f"{len(result.failed)} could not be judged, and are tried again by the next run: "
            f"{result.failed[0]}"
        )
    if result.unwalled:
        told.append(f"Coarse solids count walls as drawn, with no tolerance: {result.unwalled}")
    if result.interrupted:
        told.append("Interrupted: the front is of what was judged. The same command goes on.")
    if result.left and result.front:
        told.append(
            f"{result.left} more may be in front within what coarse solids leave open, and were "
            f"not judged by fine ones ({MOST_FINE} a run): the same command goes on with them."
        )
    if TAKEN in result.given.wanted and (words := uniform_words(result)):
        told.append(words)
    return told


def _most(count: Mapping[str, int]) -> list[tuple[str, int]]:
    return sorted(count.items(), key=lambda of: (-of[1], of[0]))
