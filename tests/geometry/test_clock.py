"""Clock positions: 12:00 is +y, hours run clockwise as seen looking down on the deck."""

import math

import numpy as np
import pytest

from geometry import format_clock, parse_clock
from geometry.clock import angle_to_clock, clock_of, clock_to_angle, hours_between


@pytest.mark.parametrize(
    ("hours", "x", "y"), [(0, 0, 1), (3, 1, 0), (6, 0, -1), (9, -1, 0), (1.5, 1, 1), (10.5, -1, 1)]
)
def test_hours_run_clockwise_from_the_top(hours, x, y):
    assert float(clock_of(5.0 * x, 5.0 * y)) == pytest.approx(hours)
    angle = float(clock_to_angle(hours))
    assert (math.cos(angle), math.sin(angle)) == pytest.approx((x, y) / np.hypot(x, y))
    assert float(angle_to_clock(angle + 2 * math.pi)) == pytest.approx(hours)


def test_every_minute_is_read_as_it_is_written():
    for minute in range(720):
        hours = minute / 60
        assert parse_clock(format_clock(hours)) == pytest.approx(hours)
    assert format_clock(0.0) == format_clock(12.0) == format_clock(11.995) == "12:00"


@pytest.mark.parametrize("text", ["13:00", "1:60", "1.30", "1:5", "-1:30", "130", "", "12:30 pm"])
def test_what_is_no_clock_position(text):
    with pytest.raises(ValueError, match="is no clock position"):
        parse_clock(text)


def test_the_shortest_way_round():
    a, b = np.meshgrid(np.arange(0, 12, 0.5), np.arange(0, 12, 0.5))
    between = hours_between(a, b)
    assert ((between >= -6) & (between < 6)).all()
    assert np.mod(b + between - a, 12) == pytest.approx(0)
