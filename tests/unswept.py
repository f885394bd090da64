"""Designs solved without other fits, each of which costs a contact of its own."""

from cases.run import solve_case
from cases.subjects import SUBJECTS


def solve_unswept(case, *, rate=False):
    """A case, for tests that look at no other fit."""
    subjects = [subject for subject in SUBJECTS if subject.key != "fit"]
    return solve_case(case, rate=rate, subjects=subjects)
