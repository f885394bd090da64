"""Numbers with their error, as people read them."""

from __future__ import annotations


def give_or_take(error: float | None, sign: str = " +- ") -> str:
    """What stands behind a number: its error, to a whole or to one digit; empty where not known.

    Examples
    --------
    >>> give_or_take(9.2), give_or_take(0.34), give_or_take(None)
    (' +- 9', ' +- 0.3', '')
    """
    if error is None:
        return ""
    return f"{sign}{error:.0f}" if error >= 1 else f"{sign}{error:.1g}"
