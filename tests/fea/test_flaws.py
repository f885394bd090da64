"""What flaws leave of the fatigue strength of plain metal.

Murakami's limits of HV 380 with a flaw of 50 um, 372.5 MPa at a surface and 406.4 inside, stand in
a public test; the others were worked out from the same formula, which is from memory. El Haddad's
curve and the diagram of Kitagawa and Takahashi: derived.
"""

import numpy as np
import pytest

from fea.strength import (
    area_parameter,
    critical_distance,
    flaw_share,
    long_crack_range,
    murakami_limit,
    roughness_share,
    short_crack_length,
)


def test_limits_by_hardness_and_area():
    assert murakami_limit(380, 0.05) == pytest.approx(372.52, abs=0.005)
    assert murakami_limit(380, 0.05, where="inside") == pytest.approx(406.38, abs=0.005)
    by_size = murakami_limit(95, [0.05, 0.1, 0.2, 0.4, 1.0])
    assert by_size == pytest.approx([160.2, 142.7, 127.1, 113.3, 97.2], abs=0.05)
    assert murakami_limit(95, 0.4, ratio=0.0) == pytest.approx(96.2, abs=0.05)
    assert murakami_limit(95, 0.4, where="touching") < murakami_limit(95, 0.4)


def test_the_short_crack_curve():
    """A threshold of 4 MPa sqrt(m), 200 MPa of plain metal, Y = 0.65."""
    short = short_crack_length(4.0, 200.0)
    assert short == pytest.approx(0.3014, abs=5e-5)
    borne = 200 * flaw_share([0.1, 0.4, 1.0], short)
    assert borne == pytest.approx([173.30, 131.10, 96.24], abs=0.01)


@pytest.mark.parametrize(("threshold", "plain"), [(5.0, 200.0), (3.5, 150.0)])
def test_a_small_flaw_is_none_and_a_large_one_a_long_crack(threshold, plain):
    """The two lines of Kitagawa and Takahashi meet at a0, where the curve is below both by
    1 / sqrt(2), and the curve runs into each."""
    short = float(short_crack_length(threshold, plain))
    assert long_crack_range(threshold, short) == pytest.approx(plain)
    assert flaw_share(short, short) == pytest.approx(np.sqrt(0.5))
    small, large = 1e-4 * short, 1e4 * short
    assert plain * flaw_share(small, short) == pytest.approx(plain, rel=1e-3)
    assert plain * flaw_share(large, short) == pytest.approx(
        float(long_crack_range(threshold, large)), rel=1e-3
    )
    sizes = short * np.logspace(-3, 3, 50)
    lowest = np.minimum(plain, long_crack_range(threshold, sizes))
    assert (plain * flaw_share(sizes, short) < lowest).all()


def test_the_short_crack_length_is_the_critical_distance_of_the_flaw():
    """The line method at a crack gives El Haddad's curve exactly (Taylor, from memory), Y = 1."""
    assert short_crack_length(5.0, 200.0, shape=1.0) == pytest.approx(critical_distance(5.0, 200.0))


def test_the_area_of_a_round_pore():
    assert area_parameter(0.4) == pytest.approx(0.3545, abs=5e-5)  # sqrt(pi 0.2^2)


def test_roughness():
    """FKM, cast aluminium of 262 MPa, Rz 6.3, 25, 100 and 200 um (constants in an open library)."""
    left = roughness_share([6.3, 25.0, 100.0, 200.0], 262.0, cast=True)
    assert left == pytest.approx([0.9048, 0.8335, 0.7618, 0.7260], abs=5e-5)
    assert roughness_share([0.1, 1.0], 262.0, cast=True) == pytest.approx([1.0, 1.0])
    assert roughness_share(25.0, 50.0, cast=False) == 1.0  # too soft to feel it
    assert roughness_share(25.0, 262.0, cast=False) < roughness_share(25.0, 262.0, cast=True)
