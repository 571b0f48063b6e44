"""The API put together: its description, its errors, and its addresses for the list of all addresses."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from ninja import NinjaAPI
from ninja.errors import AuthenticationError, AuthorizationError, HttpError, Throttled, ValidationError

from slabwright.office.api import jobs, talk
from slabwright.office.api.talk import ApiError

PREFIX = "/api/v1"

api = NinjaAPI(
    title="Slabwright office",
    version="1",
    description="Jobs, plans and sheets of one shop. Every request has a key: `Authorization: Bearer ...`.",
    docs_url=None,
    openapi_url=None,
    urls_namespace="api",
    auth=talk.Key(),
    throttle=[talk.Pace(talk.MOST_A_MINUTE)],
)
api.add_router("", jobs.router)


def _answer(request: HttpRequest, code: str, status: int, **more: Any) -> HttpResponse:
    return JsonResponse(talk.told(request, code, **more), status=status)


@api.exception_handler(ApiError)
def _told(request: HttpRequest, error: ApiError) -> HttpResponse:
    return _answer(request, error.code, error.status, **error.more)


@api.exception_handler(AuthenticationError)
def _no_key(request: HttpRequest, _error: AuthenticationError) -> HttpResponse:
    answer = _answer(request, "key", 401)
    answer.headers["WWW-Authenticate"] = "Bearer"
    return answer


@api.exception_handler(AuthorizationError)
def _not_allowed(request: HttpRequest, _error: AuthorizationError) -> HttpResponse:
    return _answer(request, "scope", 403)


@api.exception_handler(Throttled)
def _too_fast(request: HttpRequest, error: Throttled) -> HttpResponse:
    answer = _answer(request, "throttled", 429)
    answer.headers["Retry-After"] = str(int(error.wait or 60))
    return answer


@api.exception_handler(ValidationError)
def _unusable(request: HttpRequest, error: ValidationError) -> HttpResponse:
    fields = [
        {"at": ".".join(str(part) for part in one["loc"])[:200], "why": str(one["msg"])[:300]}
        for one in error.errors[:50]
    ]
    return _answer(request, "request", 422, fields=fields)


@api.exception_handler(HttpError)
def _bad(request: HttpRequest, error: HttpError) -> HttpResponse:
    return _answer(request, "body", error.status_code if 400 <= error.status_code < 500 else 400)


@api.exception_handler(Http404)
def _none(request: HttpRequest, _error: Http404) -> HttpResponse:
    return _answer(request, "not-found", 404)


@cache
def description() -> dict[str, Any]:
    """Return the OpenAPI description of every address."""
    return dict(api.get_openapi_schema(path_prefix=f"{PREFIX}/"))


def schema(request: HttpRequest) -> HttpResponse:
    """Return the description to somebody signed in, or to a program with a key."""
    if not getattr(request.user, "works_here", False):
        head = request.headers.get("Authorization", "")
        try:
            known = talk.Key().authenticate(request, head[7:]) if head.startswith("Bearer ") else None
        except ApiError as error:
            return _answer(request, error.code, error.status)
        if known is None:
            return _answer(request, "key", 401)
    return JsonResponse(description())
