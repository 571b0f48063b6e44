"""The API asked for what its own description allows and forbids: it never fails, and answers as it says.

`python -m fuzz.api --minutes 10` asks for longer, with cases of its own each time.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis.stateful import run_state_machine_as_test
from tests.kit import asking
from tests.kit.people import job, person

from slabwright.office.actions import keys

OPERATIONS = asking.operations()


def test_the_description_has_every_address():
    assert len(OPERATIONS) >= 11


@pytest.mark.parametrize(("path", "method"), OPERATIONS, ids=lambda part: part)
def test_nothing_that_is_sent_makes_it_fail(path, method, each_database, db):
    who = person()
    _, token = keys.make(person=who, name="fuzz", writes=True, days=1)
    code = job(who).code

    @settings(
        max_examples=12 if each_database == "sqlite" else 5,
        deadline=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=asking.cases(path, method))
    def ask(case):
        asking.ask_case(case, token, code)

    ask()


def test_programs_at_work_on_one_job_lose_nothing(db):
    _, token = keys.make(person=person(), name="fuzz", writes=True, days=1)
    shop = type("Shop", (asking.Shop,), {"token": token})
    run_state_machine_as_test(
        shop,
        settings=settings(
            max_examples=6,
            stateful_step_count=8,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
