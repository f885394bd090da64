"""."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cases.stress.result import CaseResult


def design_keys(result: CaseResult) -> dict[str, str]:
    """File-name form of each design's name: lower case letters, digits and hyphens, all unlike."""
    keys: dict[str, str] = {}
    for design in result.designs:
        plain = re.sub(r"[^a-z0-9]+", "-", design.name.lower()).strip("-") or "design"
        key, number = plain, 2
        while key in keys.values():
            key, number = f"{plain}-{number}", number + 1
        keys[design.name] = key
    return keys
