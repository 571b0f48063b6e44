"""The API asked in this process, as its description allows and forbids, and whether it answers as it says."""

from __future__ import annotations

from typing import Any

import requests
import schemathesis
from django.test import Client
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.parameters import ParameterLocation
from schemathesis.core.transport import Response
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_schema_conformance,
    status_code_conformance,
)

WIRE = ("method", "url", "params", "json", "data", "files")
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]


def operations() -> list[tuple[str, str]]:
    """Return every (path, method) of the description."""
    from slabwright.office.api import door

    paths = door.description()["paths"]
    return sorted((path, method.upper()) for path, ways in paths.items() for method in ways)


def cases(path: str, method: str) -> st.SearchStrategy[Any]:
    """Return what may be sent to one address, and what may not."""
    from slabwright.office.api import door

    operation = schemathesis.openapi.from_dict(door.description())[path][method]
    return st.one_of([operation.as_strategy(generation_mode=mode) for mode in GenerationMode])


def at_leisure() -> None:
    """Forget how many requests a key has sent in this minute: here it is not the pace that is asked about."""
    from slabwright.office.models import Token

    Token.objects.update(asked=0)


def ask_case(case: Any, token: str, code: str) -> None:
    """Ask what a case asks, of the job `code` half the time; AssertionError for an answer that is wrong."""
    at_leisure()
    if "code" in (case.path_parameters or {}) and len(str(case.path_parameters["code"])) % 2:
        case.path_parameters["code"] = code
    kept = case.as_transport_kwargs(base_url="http://localhost")
    wanted = requests.Request(**{k: kept[k] for k in WIRE if kept.get(k) is not None}).prepare()
    body = wanted.body or b""
    body = body.encode() if isinstance(body, str) else body
    kind = wanted.headers.get("Content-Type", "application/octet-stream")
    client = Client(headers={"Authorization": f"Bearer {token}"}, raise_request_exception=False)
    answer = client.generic(case.method, wanted.path_url, body, content_type=kind)
    assert answer.status_code < 500, answer.content[:500]
    if answer.status_code >= 400 and answer.status_code not in (404, 405):
        said = answer.json()
        assert said["what"]
        assert said["do"]
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    if answer.status_code == 405 or not wanted.path_url.startswith("/api/v1/jobs"):
        return  # what was sent leads to another address than the one described
    heads = {name.lower(): [value] for name, value in answer.items()}
    told = Response(answer.status_code, heads, content, wanted, 0.0, verify=False)
    # A bad body must be refused; what an address has beside its described parts is nobody's harm.
    body = case.meta.components.get(ParameterLocation.BODY)
    more = [negative_data_rejection] if body is not None and body.mode is GenerationMode.NEGATIVE else []
    case.validate_response(told, checks=[*CHECKS, *more])


PATHS = st.sampled_from(
    [
        ["slabs", 0, "width"],
        ["slabs", 0, "thickness"],
        ["slabs", 0],
        ["slabs", 1, "name"],
        ["title"],
        ["tape"],
        ["tape", 0],
        ["tape", 1, "A-P1"],
        ["levels", 0, "rod", "P1"],
        ["heights", "N1"],
        ["points", "N1"],
        ["nowhere", "at", "all"],
        ["slabs", -1, "width"],
        ["slabs", 10**9, "width"],
        [0],
    ]
)
VALUES = st.one_of(
    st.sampled_from(
        ["4'", "4' 1/2", "1.2 m", "broom", "A-P9: 4'", "#", "~", "[", "{", "'", "- x", "a: b", "yes"]
    ),
    st.text(max_size=20),
    st.none(),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.dictionaries(st.text(max_size=5), st.text(max_size=5), max_size=3),
    st.lists(st.text(max_size=5), max_size=3),
)
EDITS = st.fixed_dictionaries(
    {"kind": st.sampled_from(["set", "set", "delete", "append"]), "path": PATHS, "value": VALUES},
    optional={"seen": VALUES},
)


class Shop(RuleBasedStateMachine):
    """Programs at work on one job: what was saved is there, what was refused left no trace."""

    token = ""

    def __init__(self) -> None:
        super().__init__()
        self.code, self.number, self.text, self.sent = "", 0, "", 0

    def ask(self, method: str, path: str, sent: Any = None) -> Any:
        at_leisure()
        client = Client(headers={"Authorization": f"Bearer {self.token}"}, raise_request_exception=False)
        more = {} if sent is None else {"data": sent, "content_type": "application/json"}
        answer = (
            client.generic(method, f"/api/v1{path}")
            if sent is None
            else client.post(f"/api/v1{path}", **more)
        )
        assert answer.status_code < 500, answer.content[:500]
        return answer

    @initialize(use=st.sampled_from(["walk", "patio", "driveway"]))
    def start(self, use: str) -> None:
        made = self.ask("POST", "/jobs", {"title": "Elm 4", "use": use})
        assert made.status_code == 201
        whole = made.json()
        self.code, self.number, self.text = whole["code"], whole["number"], whole["text"]

    @rule(edits=st.lists(EDITS, min_size=1, max_size=3), back=st.integers(0, 3), twice=st.booleans())
    def change(self, edits: list[dict[str, Any]], back: int, twice: bool) -> None:
        self.sent += 1
        sent = {"edits": edits, "base": max(1, self.number - back), "client": f"c{self.sent}"}
        answers = [self.ask("POST", f"/jobs/{self.code}/changes", sent) for _ in range(1 + twice)]
        if answers[0].status_code == 200:
            number = answers[0].json()["number"]
            assert number in (self.number, self.number + 1)
            assert [a.json().get("number") for a in answers] == [number] * len(answers)
            self.number = number
            self.text = self.ask("GET", f"/jobs/{self.code}").json()["text"]
        else:
            assert {a.status_code for a in answers} <= {400, 409, 422}

    @rule(number=st.integers(1, 4))
    def look_back(self, number: int) -> None:
        found = self.ask("GET", f"/jobs/{self.code}/revisions/{number}")
        assert found.status_code == (200 if number <= self.number else 404)

    @rule()
    def judge(self) -> None:
        told = self.ask("GET", f"/jobs/{self.code}/findings").json()
        assert "could not be worked out" not in told["problem"], told["problem"]

    @invariant()
    def what_was_saved_is_there(self) -> None:
        if not self.code:
            return
        whole = self.ask("GET", f"/jobs/{self.code}").json()
        assert (whole["number"], whole["text"]) == (self.number, self.text)
        newest = self.ask("GET", f"/jobs/{self.code}/revisions/{self.number}").json()
        assert newest["text"] == self.text
