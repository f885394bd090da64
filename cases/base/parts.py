"""The names of a block's parts that every subject shares."""

PARENT_PARTS = ("barrel", "tie", "outer wall")
"""Parts of the block's own metal."""
