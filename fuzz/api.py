"""The API asked in sequence and at random for a while: `python -m fuzz.api --minutes 10`.

Needs what the tests need (schemathesis). Every turn draws cases that were not drawn before.
"""

from __future__ import annotations

import argparse
import collections
import random
import sys
import time
import traceback
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from fuzz import office

DRAWN, WALKS = 40, 10  # cases an address and walks through the shop, in one turn


def _drawn(
    common: Any, start: int, asking: Any, way: tuple[str, str], known: tuple[str, str], counts: Any
) -> Any:
    """Return what asks one address a few times."""

    @seed(start)
    @common
    @given(case=asking.cases(*way))
    def ask(case: Any) -> None:
        counts[" ".join(way)] += 1
        asking.ask_case(case, *known)

    return ask


def main() -> int:
    """Ask until the time is over; 1 where an answer was not as it should be."""
    parser = argparse.ArgumentParser(prog="python -m fuzz.api", description=__doc__)
    parser.add_argument("--minutes", type=float, default=5.0)
    end = time.monotonic() + parser.parse_args().minutes * 60.0
    office._django()
    from django.conf import settings as site

    site.ALLOWED_HOSTS += ["testserver"]
    from tests.kit import asking
    from tests.kit.people import job, person

    from slabwright.office.actions import keys

    who = person()
    token = keys.make(person=who, name="fuzz", writes=True, days=1)[1]
    code, counts, wrong = job(who).code, collections.Counter[str](), set[str]()
    dice = random.Random()

    def tried(name: str, what: Any) -> None:
        try:
            what()
        except BaseException as fault:  # groups of several too
            if isinstance(fault, KeyboardInterrupt):
                raise
            said = "".join(traceback.format_exception(fault))
            if said[-400:] not in wrong:
                wrong.add(said[-400:])
                print(f"--- {name}\n{said[-3000:]}", flush=True)

    while time.monotonic() < end:
        common = settings(
            max_examples=DRAWN,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
            phases=[Phase.generate],
        )
        for path, method in asking.operations():
            name = f"{method} {path}"
            tried(name, _drawn(common, dice.getrandbits(60), asking, (path, method), (token, code), counts))
            if time.monotonic() > end:
                break

        class Shop(asking.Shop):
            def ask(self, method: str, path: str, sent: Any = None) -> Any:
                counts["walks"] += 1
                return super().ask(method, path, sent)

        Shop.token = token
        walks = settings(common, max_examples=WALKS, stateful_step_count=15)
        tried("walk", lambda: run_state_machine_as_test(seed(dice.getrandbits(60))(Shop), settings=walks))  # noqa: B023
    print(dict(counts), "requests in all:", sum(counts.values()))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
