"""The names of a block's parts that every subject shares."""

from __future__ import annotations

PARENT_PARTS = ("barrel", "tie", "outer wall")  # of the block's own metal
