"""The chi-square distribution and the normal one, without a statistics library.

A house job must not pay for importing one; the functions are checked against scipy in the tests.
The incomplete gamma function is summed as a series below its mean and as a continued fraction
above it (`abramowitz-stegun`, 6.5.29 and 6.5.31).
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

_NORMAL = NormalDist()
_TINY = 1e-300
_STEP = 1e-13  # relative size of the last term, for the sum and for Newton's step


def normal_quantile(p: float) -> float:
    """Return z [-] with P(Z <= z) = p for the standard normal."""
    return _NORMAL.inv_cdf(p)


def chi_square_cdf(x: float, dof: int) -> float:
    """Return P(X <= x) [-] for chi-square with `dof` degrees of freedom."""
    if x <= 0.0:
        return 0.0
    a, z = dof / 2.0, x / 2.0
    front = math.exp(-z + a * math.log(z) - math.lgamma(a))
    if z < a + 1.0:
        term = total = 1.0 / a
        k = a
        while term > total * _STEP:
            k += 1.0
            term *= z / k
            total += term
        return front * total
    b = z + 1.0 - a
    c = 1.0 / _TINY
    d = h = 1.0 / b
    for i in range(1, 100_000):
        an = -i * (i - a)
        b += 2.0
        d = an * d + b
        d = 1.0 / (d if abs(d) > _TINY else _TINY)
        c = b + an / c
        c = c if abs(c) > _TINY else _TINY
        h *= d * c
        if abs(d * c - 1.0) < _STEP:
            break
    return 1.0 - front * h


@lru_cache(maxsize=512)
def chi_square_quantile(p: float, dof: int) -> float:
    """Return x [-] with P(X <= x) = p; 0 for no degrees of freedom.

    Starts from the cube-root approximation and halves or steps by Newton until settled.
    """
    if dof <= 0:
        return 0.0
    q = 2.0 / (9.0 * dof)
    x = dof * max(1.0 - q + normal_quantile(p) * math.sqrt(q), 0.05) ** 3
    low, high = 0.0, math.inf
    a = dof / 2.0
    for _ in range(200):
        miss = chi_square_cdf(x, dof) - p
        if miss > 0.0:
            high = x
        else:
            low = x
        density = math.exp((a - 1.0) * math.log(x / 2.0) - x / 2.0 - math.lgamma(a)) / 2.0
        step = miss / density if density > 0.0 else math.inf
        new = x - step
        if not low < new < high:
            new = (low + high) / 2.0 if math.isfinite(high) else 2.0 * x
        if abs(new - x) <= _STEP * x:
            return new
        x = new
    return x
