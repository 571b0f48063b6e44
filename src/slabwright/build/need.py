"""How much concrete a job really takes, as a distribution.

    V = A (1 + area) (t + form + subgrade + roughness) (1 + waste) (1 + settlement) / (1 + yield)

Every error is independent and normal (source order-spread). Roughness of the subgrade hangs together over
a few feet (correlation exp(-d^2 / (2 reach^2))), so its mean over a slab is smaller than any one spot, and
less so on a narrow walk than on a patio; on a large area A it is rough_sd sqrt(2 pi reach^2 / A).
The thickness error is integrated numerically; the product of the others is within a hair of lognormal and
is taken so, with its exact mean and variance. Tests hold this against simulated jobs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol

from slabwright.build.tables import rule

LEAST_SD = 1e-7  # a relative spread below this is none: squares and roots leave 1e-8 of rounding
TAILS = 6.0  # standard deviations of the thickness error that are integrated


class Need(Protocol):
    """A distribution of volume [m3]."""

    @property
    def mean(self) -> float:
        """Return the expected volume [m3]."""

    @property
    def sd(self) -> float:
        """Return the standard deviation [m3]."""

    def below(self, v: float) -> float:
        """Return the chance that no more than `v` [m3] is needed."""

    def density(self, v: float) -> float:
        """Return the chance per m3 at `v` [m3]."""

    def shortfall(self, v: float) -> float:
        """Return the expected volume [m3] needed beyond `v` [m3]."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Errors of one job: means and standard deviations, [m] or ratios of the whole."""

    area_mean: float
    area_sd: float
    form_sd: float
    subgrade_mean: float
    subgrade_sd: float
    rough_sd: float
    rough_reach: float
    waste_mean: float
    waste_sd: float
    settle_mean: float
    settle_sd: float
    yield_mean: float
    yield_sd: float

    def rough_mean_sd(self, long: float, short: float) -> float:
        """Return the standard deviation [m] of the mean roughness over a rectangle of these sides [m]."""
        return self.rough_sd * math.sqrt(self._together(long) * self._together(short))

    def _together(self, side: float) -> float:
        """Return the mean correlation of two spots drawn at random on a line of length `side` [m]."""
        if side <= 0.0 or self.rough_reach <= 0.0:
            return 1.0 if side <= 0.0 else 0.0
        u = side / self.rough_reach
        if u < 0.01:  # the two terms below would cancel
            return 1.0 - u * u / 12.0
        return math.sqrt(2.0 * math.pi) / u * math.erf(u / math.sqrt(2.0)) - 2.0 / u**2 * -math.expm1(
            -u * u / 2.0
        )


def sides_of(area: float, *, perimeter: float, width: float | None = None) -> tuple[float, float]:
    """Return the sides [m] of the rectangle that stands for a slab of an area [m2].

    A ribbon has its width [m]; another outline the rectangle of its own area and perimeter [m], or the
    square where it is rounder than that.
    """
    if width is not None and width > 0:
        return area / width, width
    half = perimeter / 2.0
    under = half * half - 4.0 * area
    if under <= 0:
        return math.sqrt(area), math.sqrt(area)
    long = (half + math.sqrt(under)) / 2.0
    return long, area / long


def usual_spread() -> Spread:
    """Return the planning spread of the table (source order-spread)."""
    return Spread(**{key: rule("pour", key) for key in Spread.__slots__})


def phi(z: float) -> float:
    """Return the standard normal distribution function at z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def bell(z: float) -> float:
    """Return the standard normal density at z."""
    return math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


@dataclass(frozen=True)
class NormalNeed:
    """A normal need: for the part still open once most is placed, and for a crew's own record."""

    mean: float
    sd: float

    def below(self, v: float) -> float:
        """Return the chance that no more than `v` [m3] is needed."""
        if self.sd <= 0:
            return 1.0 if v >= self.mean else 0.0
        return phi((v - self.mean) / self.sd)

    def density(self, v: float) -> float:
        """Return the chance per m3 at `v` [m3]."""
        return bell((v - self.mean) / self.sd) / self.sd if self.sd > 0 else 0.0

    def shortfall(self, v: float) -> float:
        """Return the expected volume [m3] needed beyond `v` [m3]."""
        if self.sd <= 0:
            return max(0.0, self.mean - v)
        z = (v - self.mean) / self.sd
        return self.sd * (bell(z) - z * phi(-z))


@dataclass(frozen=True)
class PlacedNeed:
    """The need of slabs of `area` [m2] at a mean `thickness` [m], in the truck's volume.

    `patches`: the sides [m] of each slab, for its roughness; none: one square. Raises ValueError when
    there is nothing to pour.
    """

    area: float
    thickness: float
    spread: Spread = field(default_factory=usual_spread)
    patches: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a slab without volume."""
        if not (self.area > 0 and self.thickness > 0):
            raise ValueError(f"nothing to pour: area {self.area} m2, thickness {self.thickness} m")

    @cached_property
    def thickness_error(self) -> tuple[float, float]:
        """Return mean and standard deviation [m] of what lies between the drawn and the poured thickness."""
        s = self.spread
        return s.subgrade_mean, math.hypot(s.form_sd, s.subgrade_sd, self.rough_mean_sd())

    def rough_mean_sd(self, share: float = 1.0) -> float:
        """Return the standard deviation [m] of the mean roughness over a share of each slab's length."""
        patches = self.patches or ((math.sqrt(self.area), math.sqrt(self.area)),)
        total = sum(long * short for long, short in patches)
        return math.hypot(
            *(
                long * short / total * self.spread.rough_mean_sd(long * share, short)
                for long, short in patches
            )
        )

    @cached_property
    def _factor(self) -> tuple[float, float]:
        """Return the mean of the product of all factors but the thickness, and its variance over mean^2."""
        s = self.spread
        mean, squares = 1.0, 1.0
        for middle, sd in (
            (1.0 + s.area_mean, s.area_sd),
            (1.0 + s.waste_mean, s.waste_sd),
            (1.0 + s.settle_mean, s.settle_sd),
        ):
            mean *= middle
            squares *= 1.0 + (sd / middle) ** 2
        c = (s.yield_sd / (1.0 + s.yield_mean)) ** 2
        bent = 1.0 + c + 3.0 * c * c  # the mean of 1 / (1 + yield) beside 1 over its mean
        mean *= bent / (1.0 + s.yield_mean)
        squares *= (1.0 + 3.0 * c + 15.0 * c * c) / bent**2
        return mean, squares - 1.0

    @cached_property
    def mean(self) -> float:
        """Return the expected volume [m3]."""
        return self.area * (self.thickness + self.thickness_error[0]) * self._factor[0]

    @cached_property
    def sd(self) -> float:
        """Return the standard deviation [m3]."""
        bias, spread = self.thickness_error
        deep = self.thickness + bias
        mean, var = self._factor
        return self.area * mean * math.sqrt(deep**2 * var + spread**2 * (1.0 + var))

    @cached_property
    def _log(self) -> tuple[float, float]:
        """Return mean and standard deviation of the logarithm of the factors."""
        mean, var = self._factor
        log_var = math.log1p(max(0.0, var))
        return math.log(mean) - log_var / 2.0, math.sqrt(log_var)

    @cached_property
    def _nodes(self) -> tuple[tuple[float, float], ...]:
        """Return volumes of concrete before the factors [m3] and their weights.

        Even steps over a smooth bell converge faster than any power of the step, as long as it is not
        wide against the lognormal that each node is smeared with.
        """
        bias, sd = self.thickness_error
        deep = self.thickness + bias
        if sd < LEAST_SD * deep:
            return ((self.area * deep, 1.0),)
        step = min(0.25, max(0.01, 1.2 * self._log[1] * deep / sd))
        half = math.ceil(TAILS / step)
        made = []
        for k in range(-half, half + 1):
            t = deep + k * step * sd
            if t > 0:
                made.append((self.area * t, bell(k * step)))
        total = sum(w for _, w in made)
        return tuple((v, w / total) for v, w in made)

    def below(self, v: float) -> float:
        """Return the chance that no more than `v` [m3] is needed."""
        if v <= 0:
            return 0.0
        m, s = self._log
        if s < LEAST_SD:
            return sum(w for a, w in self._nodes if a * math.exp(m) <= v * (1.0 + 1e-12))
        at = math.log(v) - m
        return sum(w * phi((at - math.log(a)) / s) for a, w in self._nodes)

    def density(self, v: float) -> float:
        """Return the chance per m3 at `v` [m3]."""
        m, s = self._log
        if v <= 0 or s < LEAST_SD:
            return 0.0
        at = math.log(v) - m
        return sum(w * bell((at - math.log(a)) / s) for a, w in self._nodes) / (s * v)

    def shortfall(self, v: float) -> float:
        """Return the expected volume [m3] needed beyond `v` [m3]."""
        if v <= 0:
            return self.mean - v
        m, s = self._log
        if s < LEAST_SD:
            return sum(w * max(0.0, a * math.exp(m) - v) for a, w in self._nodes)
        first = math.exp(m + s * s / 2.0)
        total = 0.0
        for a, w in self._nodes:
            d = (math.log(a / v) + m) / s
            total += w * (a * first * phi(d + s) - v * phi(d))
        return total

    def at_chance(self, p: float) -> float:
        """Return the volume [m3] that is enough with chance `p` (0 < p < 1)."""
        low, high = 0.0, self.mean + 20.0 * self.sd + 1e-9
        for _ in range(100):
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.below(middle) < p else (low, middle)
        return high
