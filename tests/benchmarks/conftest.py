"""Pytest looks for doctests in every file; these need the extra ``compare``."""

collect_ignore = [
    "compare_general.py",
    "general_joint.py",
    "general_library.py",
    "solid_elsewhere.py",
]
