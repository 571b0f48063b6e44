"""What the survey hands on: points, heights, how sure each is, every reading's part in it, slips."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from slabwright.findings import Finding


@dataclass(frozen=True, slots=True)
class Ellipse:
    """A standard error ellipse: half axes a >= b [m], azimuth of a [rad], clockwise from +y, 0..pi."""

    a: float
    b: float
    azimuth: float


@dataclass(frozen=True, slots=True)
class Point:
    """A point in the plan: x, y [m], standard deviations sx, sy [m], covariance sxy [m2]."""

    name: str
    x: float
    y: float
    sx: float
    sy: float
    sxy: float
    fixed: bool


def ellipse(point: Point) -> Ellipse:
    """Return the standard error ellipse of a point (`ghilani-wolf`, chapter 19).

    Axes are the roots of the eigenvalues of [[sx^2, sxy], [sxy, sy^2]].
    """
    half = (point.sx**2 - point.sy**2) / 2.0
    middle = (point.sx**2 + point.sy**2) / 2.0
    reach = math.hypot(half, point.sxy)
    # Mathematical angle of the major axis from +x, turned into an azimuth.
    angle = 0.5 * math.atan2(point.sxy, half)
    return Ellipse(
        a=math.sqrt(max(middle + reach, 0.0)),
        b=math.sqrt(max(middle - reach, 0.0)),
        azimuth=(math.pi / 2.0 - angle) % math.pi,
    )


@dataclass(frozen=True, slots=True)
class HeightOf:
    """The height of a point [m] over the datum, with its standard deviation [m]."""

    name: str
    height: float
    sd: float
    fixed: bool


@dataclass(frozen=True, slots=True)
class ReadingFit:
    """One reading after the adjustment; lengths in [m], corners in [rad].

    name: what a person calls it; part: pull | along | out | right | straight | x | y | rod |
    difference | height. residual is adjusted less written. redundancy r: the share of a slip in
    this reading that shows in its own residual, 0..1. standardised: residual / (sd sqrt(r)).
    detectable: the least slip [m or rad] that the net would show with 80 % chance, infinite when
    nothing checks the reading. used: False for a reading set aside as a slip.
    """

    name: str
    part: str
    points: tuple[str, ...]
    written: float
    written_text: str
    adjusted: float
    residual: float
    sd: float
    redundancy: float
    standardised: float
    detectable: float
    used: bool
    line: int | None


@dataclass(frozen=True, slots=True)
class Fit:
    """The global test of one net (plane or heights).

    dof: degrees of freedom; statistic: sum of squared residuals over variances [-]; low and high:
    two-sided 95 % limits of chi-square; limit: its one-sided 95 % limit, past which the net fails;
    as_written: the statistic before any reading was set aside.
    """

    dof: int
    statistic: float
    low: float
    high: float
    limit: float
    as_written: float
    dof_as_written: int

    @property
    def passed(self) -> bool:
        """Return whether the readings agree within their stated sd."""
        return self.dof <= 0 or self.statistic <= self.limit

    @property
    def passed_as_written(self) -> bool:
        """Return whether they did so before any was set aside."""
        from slabwright.survey.chi_square import chi_square_quantile

        n = self.dof_as_written
        return n <= 0 or self.as_written <= chi_square_quantile(0.95, n)

    @property
    def s0(self) -> float:
        """Return the standard deviation of unit weight [-]; 1 where there is nothing to judge by."""
        return math.sqrt(self.statistic / self.dof) if self.dof > 0 else 1.0


@dataclass(frozen=True, slots=True)
class Slip:
    """A reading that looks wrong, and the likeliest mistake behind it.

    kind: a key of habits.toml ('foot', 'inch', 'swapped', 'side', ...); by [m]: written less what
    fits; fits and written [m]; chance: its share among all explanations looked at, 0..1; group: the
    same number for slips of which only one is the true one; set_aside: whether the points were
    computed without this reading.
    """

    reading: str
    part: str
    kind: str
    by: float
    fits: float
    written: float
    chance: float
    group: int
    set_aside: bool
    line: int | None
    points: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Loose:
    """A point that cannot be determined: where is 'plan' or 'height'; by: what it hangs on."""

    name: str
    where: str
    reason: str
    by: tuple[str, ...] = ()
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class ExtraPull:
    """One more reading that would make readings visible which nothing checks now.

    what: 'tape' between a and b; 'level' (a second set-up that reads a and b again); with a and b
    empty: 'more' (pulls beyond the ones proposed would show them), 'none' (no pull between points of
    the net would).
    """

    what: str
    a: str
    b: str
    shows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Survey:
    """The site as measured: all lengths in [m], in the frame of the first wall.

    points and heights by name; set_ups: height of each line of sight [m]; readings: one row for
    every reading that was used or set aside; plane and levels: their global tests, None without
    such readings; loose: what cannot be determined; slips; extra: readings worth taking.
    """

    points: Mapping[str, Point]
    heights: Mapping[str, HeightOf]
    set_ups: Mapping[str, HeightOf]
    readings: tuple[ReadingFit, ...]
    plane: Fit | None
    levels: Fit | None
    datum: str
    loose: tuple[Loose, ...]
    slips: tuple[Slip, ...]
    extra: tuple[ExtraPull, ...]
    findings: tuple[Finding, ...]
