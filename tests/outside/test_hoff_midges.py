"""Bayesian update of normal data with unknown mean and spread: the midges of Hoff.

P. D. Hoff, A First Course in Bayesian Statistical Methods (Springer 2009), section 5.3: wing lengths of
nine midges. The data and the prior mean were read in public course notes (rstudio-pubs 1408938); the
prior's weights and the printed results are recalled from the book, not read again.
"""

from __future__ import annotations

import pytest

from slabwright.money.learning import NormalBelief

WINGS = (1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08)  # mm
PRIOR = NormalBelief(mean=1.9, weight=1.0, variance=0.01, freedom=1.0)


def test_posterior() -> None:
    """mu_n = 1.814, kappa_n = 10, sigma_n squared = 0.015, nu_n = 10."""
    after = PRIOR.told(WINGS)
    assert after.mean == pytest.approx(1.814, abs=0.0005)
    assert after.variance == pytest.approx(0.015, abs=0.0005)
    assert (after.weight, after.freedom) == (10.0, 10.0)


def test_interval_of_the_mean() -> None:
    """95 % interval of the mean: (1.73, 1.90) from 10,000 draws of the joint posterior."""
    from scipy.stats import t

    after = PRIOR.told(WINGS)
    low, high = t(after.freedom, after.mean, (after.variance / after.weight) ** 0.5).interval(0.95)
    assert (low, high) == pytest.approx((1.73, 1.90), abs=0.005)


def test_next_value_follows_students_t() -> None:
    """The next value's quantiles are those of scipy's t, an independent implementation."""
    from scipy.stats import t

    after = PRIOR.told(WINGS)
    scale = (after.variance * (1 + 1 / after.weight)) ** 0.5
    for p in (0.01, 0.1, 0.5, 0.9, 0.99):
        assert after.next_at(p) == pytest.approx(t(after.freedom, after.mean, scale).ppf(p), rel=1e-9)
