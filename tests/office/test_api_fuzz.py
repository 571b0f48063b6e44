"""The API asked for what its own description allows and forbids: it never fails, and answers as it says."""

from __future__ import annotations

import pytest
import requests
import schemathesis
from django.core.cache import cache
from django.test import Client
from hypothesis import HealthCheck, settings
from schemathesis import GenerationMode
from tests.kit.people import job, person

from slabwright.office.actions import keys
from slabwright.office.api import door

WIRE = ("method", "url", "params", "json", "data", "files")
OPERATIONS = sorted(
    (path, method.upper()) for path, way in door.description()["paths"].items() for method in way
)


def asked(case, token: str):
    """Ask what the case asks in the test's own thread, where its transaction is."""
    kept = case.as_transport_kwargs(base_url="http://localhost")
    wanted = requests.Request(**{k: kept[k] for k in WIRE if kept.get(k) is not None}).prepare()
    body = wanted.body or b""
    body = body.encode() if isinstance(body, str) else body
    kind = wanted.headers.get("Content-Type", "application/octet-stream")
    client = Client(headers={"Authorization": f"Bearer {token}"}, raise_request_exception=False)
    return client.generic(case.method, wanted.path_url, body, content_type=kind)


def test_the_description_has_every_address():
    assert len(OPERATIONS) >= 11


@pytest.mark.parametrize(("path", "method"), OPERATIONS, ids=lambda part: part)
def test_nothing_that_is_sent_makes_it_fail(path, method, each_database, db):
    who = person()
    _, token = keys.make(person=who, name="fuzz", writes=True, days=1)
    code = job(who).code
    schema = schemathesis.openapi.from_dict(door.description())
    operation = schema[path][method]

    @settings(
        max_examples=12 if each_database == "sqlite" else 5,
        deadline=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @_given(operation)
    def ask(case):
        cache.clear()
        if "code" in (case.path_parameters or {}) and len(str(case.path_parameters["code"])) % 2:
            case.path_parameters["code"] = code  # half of them name a job that is there
        answer = asked(case, token)
        assert answer.status_code < 500, answer.content[:500]
        if answer.status_code >= 400 and answer.status_code not in (404, 405):
            said = answer.json()
            assert said["what"]
            assert said["do"]

    ask()


def _given(operation):
    from hypothesis import given, strategies

    ways = [operation.as_strategy(generation_mode=mode) for mode in GenerationMode]
    return given(case=strategies.one_of(ways))
