"""Results as plain numbers, text and lists."""

from __future__ import annotations

from dataclasses import fields
from typing import Any


def fields_of(item: Any) -> dict[str, Any]:
    """A dataclass as a dictionary, not those within it."""
    return {field.name: getattr(item, field.name) for field in fields(item)}


def plain(value: Any) -> Any:
    """Numbers of any kind as plain Python ones, arrays and tuples as lists."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value
