"""Built: the whole making of a job, as one record."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.build.model import BarList, Dig, Forms, Material, Order, SetOut
from slabwright.build.model_yard import AccessPlan, SprinklerPlan
from slabwright.findings import Finding


@dataclass(frozen=True, slots=True)
class Built:
    """The whole making of a job."""

    set_out: SetOut
    dig: Dig | None
    forms: Forms
    steel: tuple[BarList, ...]
    order: Order
    materials: tuple[Material, ...]
    access: AccessPlan
    sprinklers: SprinklerPlan | None  # None where no heads were written
    findings: tuple[Finding, ...]
