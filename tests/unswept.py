"""Designs solved without what each costs a contact of its own: other fits, and a second mesh."""

import pytest

from cases.run import solve_case
from cases.subjects import SUBJECTS


def solve_unswept(case, *, rate=False):
    """A case, for tests that look at no other fit."""
    subjects = [subject for subject in SUBJECTS if subject.key != "fit"]
    return solve_case(case, rate=rate, subjects=subjects)


def solve_at_once(case, *, swept=False, rate=False):
    """A case, its fitted designs on their first mesh alone, for tests that ask for no bounds."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.life.refine.MOST_MESHES", 1)
        return (solve_case if swept else solve_unswept)(case, rate=rate)
