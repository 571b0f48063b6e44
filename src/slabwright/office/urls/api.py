"""Addresses of the API and of the page where its keys are made."""

from __future__ import annotations

from collections.abc import Iterator

from django.urls import URLPattern

from slabwright.office.access import May, View, way
from slabwright.office.api import door
from slabwright.office.pages import keys


def _methods(route: str) -> str:
    """Return the methods of one address as the description has them."""
    path = door.PREFIX + "/" + route.replace("<", "{").replace(">", "}")
    return " ".join(method.upper() for method in door.description()["paths"][path])


def _operations() -> Iterator[URLPattern]:
    """Yield the address of every operation."""
    for one in door.api.urls[0]:
        if isinstance(one, URLPattern) and one.name != "api-root" and one.callback is not None:
            route = str(one.pattern)
            view: View = one.callback
            yield way(f"api/v1/{route}", view, str(one.name), may=May.KEY, methods=_methods(route))


WAYS = [
    way("me/keys/", keys.listed, "keys", may=May.CREW, methods="GET POST"),
    way("me/keys/<int:pk>/end/", keys.end, "key-end", may=May.CREW, methods="POST"),
    way("api/v1/openapi.json", door.schema, "api-schema", may=May.KEY),
    *_operations(),
]
