"""A process that works, and those that stand by."""

import os

import pytest

from cases.dials import seat
from cases.dials.seat import EndedError, Seat


class Counted:
    """In place of a process."""

    begun = 0

    def __init__(self, count):
        type(self).begun += 1

    def submit(self, work, *args):
        return self

    def result(self):
        return self

    def cut(self):
        pass

    def shutdown(self, **_):
        pass


@pytest.fixture
def counted(monkeypatch):
    Counted.begun = 0
    monkeypatch.setattr(seat, "Workers", Counted)
    return Counted


@pytest.mark.parametrize("behind", [False, True])
def test_what_may_wait_lets_quicker_answers_go_first(monkeypatch, behind):
    told = []
    monkeypatch.setattr(os, "nice", told.append, raising=False)
    seat.warm(behind=behind)
    assert told == [seat.BEHIND] * behind


def test_none_is_begun_before_it_is_told_to_stand_by(counted):
    of = Seat(spare=True)
    assert counted.begun == 0
    of.stand_by()
    of.stand_by()
    assert counted.begun == 2
    first = of.run(os.getpid)
    of.cut()
    assert counted.begun == 2  # the spare takes its place, and no other takes time of the work
    assert of.run(os.getpid) is not first
    of.cut()
    of.run(os.getpid)
    assert counted.begun == 3
    of.close()
    of.stand_by()
    assert counted.begun == 3
    with pytest.raises(EndedError):
        of.run(os.getpid)
