"""A crew's own record of past jobs in place of the planning errors, as far as it carries.

What a job took over its drawing, as a share, is taken as normal with unknown mean and variance (the
conjugate normal-inverse-gamma rule). The planning errors are the prior: they count for so many jobs in
the mean and for so many in the spread. Jobs count alike, large or small.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from slabwright.build.need import PlacedNeed, Spread
from slabwright.build.overage import Plant
from slabwright.build.tables import rule
from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.notes.models import OrderNotes, PastJob, line_of

SPREADS = ("area_sd", "form_sd", "subgrade_sd", "rough_sd", "waste_sd", "settle_sd", "yield_sd")
ROUNDS = 6  # of scaling the spreads; each leaves a hundredth of the miss


@dataclass(frozen=True, slots=True)
class Belief:
    """What a job takes over its drawing [-]: mean, standard deviation of one job, weights in jobs."""

    mean: float
    sd: float
    mean_jobs: float
    sd_jobs: float


def learn(prior: Belief, took: Sequence[float]) -> Belief:
    """Return the belief after jobs that took these shares over their drawings [-].

    The posterior of the normal-inverse-gamma model (source normal-inverse-gamma): the mean moves by the
    weights, the variance gathers the scatter and the surprise. `sd` is of one job with a known mean.
    """
    n = len(took)
    if n == 0:
        return prior
    average = math.fsum(took) / n
    scatter = math.fsum((r - average) ** 2 for r in took)
    jobs, spread_jobs = prior.mean_jobs + n, prior.sd_jobs + n
    surprise = prior.mean_jobs * n / jobs * (average - prior.mean) ** 2
    variance = (prior.sd_jobs * prior.sd**2 + scatter + surprise) / spread_jobs
    mean = (prior.mean_jobs * prior.mean + n * average) / jobs
    return Belief(mean, math.sqrt(variance), jobs, spread_jobs)


def next_job_sd(belief: Belief) -> float:
    """Return the standard deviation [-] of the next job: its own, and what is not known of the mean.

    That of the predictive Student's t; infinite for a spread that rests on two jobs or fewer.
    """
    if belief.sd_jobs <= 2:
        return math.inf
    wide = belief.sd_jobs / (belief.sd_jobs - 2.0)
    return belief.sd * math.sqrt((1.0 + 1.0 / belief.mean_jobs) * wide)


def with_record(
    need: PlacedNeed, drawn: float, notes: OrderNotes, plant: Plant
) -> tuple[PlacedNeed, tuple[Finding, ...]]:
    """Return the need after the crew's past jobs, and findings; the same need where there are none.

    need: by the planning errors; drawn: volume as drawn [m3]; plant: for what stays in each truck. The
    shape of the distribution is kept: its mean is moved, all its spreads are scaled alike.
    """
    shares: list[float] = []
    found: list[Finding] = []
    for job in notes.past_jobs:
        took = _took(job, plant)
        if took is None:
            line = line_of(job) or line_of(notes)
            found.append(find("build", "order-record-odd", where=job.name, line=line, job=job.name))
        else:
            shares.append(took)
    if not shares:
        return need, tuple(found)
    weights = rule("pour", "record_mean_jobs"), rule("pour", "record_sd_jobs")
    # The planning errors are the next job's own spread: what of it is doubt is taken out, so that a
    # record that says the same changes nothing but the doubt.
    doubt = next_job_sd(Belief(0.0, 1.0, *weights))
    prior = Belief(need.mean / drawn - 1.0, need.sd / drawn / doubt, *weights)
    after = learn(prior, shares)
    told = _matched(need, drawn * (1.0 + after.mean), drawn * next_job_sd(after))
    found.append(
        find(
            "build",
            "order-record",
            line=line_of(notes),
            jobs=len(shares),
            took=Quantity("percent", math.fsum(shares) / len(shares)),
            before=Quantity("percent", prior.mean),
            after=Quantity("percent", after.mean),
            give=Quantity("percent", next_job_sd(after)),
        )
    )
    return told, tuple(found)


def _took(job: PastJob, plant: Plant) -> float | None:
    """Return what a past job took over its drawing [-], None where the figures cannot be right."""
    came = job.ordered + job.short
    trucks = plant.trucks(job.ordered) + (plant.trucks(job.short) if job.short > 0 else 0)
    used = came - job.left_over - plant.left_in_truck * trucks
    if job.drawn <= 0 or used <= 0:
        return None
    took = used / job.drawn - 1.0
    return took if abs(took) <= rule("pour", "record_reach") else None


def _matched(need: PlacedNeed, mean: float, sd: float) -> PlacedNeed:
    """Return a need with another mean and standard deviation [m3]."""
    spread = need.spread
    for _ in range(ROUNDS):
        waste = (1.0 + spread.waste_mean) * mean / need.mean - 1.0
        spread = _scaled(replace(spread, waste_mean=waste), sd / need.sd)
        need = replace(need, spread=spread)
    return need


def _scaled(spread: Spread, by: float) -> Spread:
    return replace(spread, **{name: getattr(spread, name) * by for name in SPREADS})
