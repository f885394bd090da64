"""A short name of what a run rests on: alike for the same values, whichever file gave them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Set
from dataclasses import fields, is_dataclass
from enum import Enum
from hashlib import sha256
from typing import Any

import numpy as np

LENGTH = 16
"""Hexadecimal digits that are kept: two of a million unlike inputs agree once in 10 million."""


def digest_of(value: Any) -> str:
    """A short hash of a value made of dataclasses, mappings, sequences, sets, arrays and numbers.

    Examples
    --------
    >>> digest_of({"a": 1.0, "b": (2, 3)}) == digest_of({"b": [2, 3], "a": 1.0})
    True
    >>> digest_of({"a": 1.0}) == digest_of({"a": 1.0000001})
    False

    Raises
    ------
    TypeError
        If it is of another kind.
    """
    text = json.dumps(_as_lists(value), separators=(",", ":"))
    return sha256(text.encode("utf-8")).hexdigest()[:LENGTH]


def _as_lists(value: Any) -> Any:
    """Nested lists of text, numbers and None; what has no order is sorted."""
    if isinstance(value, Enum):
        return [type(value).__name__, value.name]
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if value is None or isinstance(value, str | bool | int | float):
        return value
    if is_dataclass(value) and not isinstance(value, type):
        held = [[of.name, _as_lists(getattr(value, of.name))] for of in fields(value)]
        return [type(value).__name__, held]
    if isinstance(value, Mapping):
        return sorted(([_as_lists(key), _as_lists(of)] for key, of in value.items()), key=repr)
    if isinstance(value, Set):
        return sorted((_as_lists(of) for of in value), key=repr)
    if isinstance(value, list | tuple):
        return [_as_lists(of) for of in value]
    raise TypeError(f"a {type(value).__name__} has no digest.")
