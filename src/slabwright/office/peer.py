"""Where a request comes from, for throttles and for what a customer signed."""

from __future__ import annotations

import ipaddress

from django.conf import settings
from django.http import HttpRequest


def address(request: HttpRequest) -> str | None:
    """Return the address that a request came from; None where none can be told, as on a local socket.

    Behind proxies of the office's own (SLABWRIGHT_PROXIES) it is what the outermost of them saw; what stands
    further left in X-Forwarded-For anybody can write, and is not believed.
    """
    told = str(request.META.get("REMOTE_ADDR", ""))
    count = int(settings.PROXIES)
    if count:
        chain = [part.strip() for part in str(request.META.get("HTTP_X_FORWARDED_FOR", "")).split(",")]
        told = chain[-count] if len(chain) >= count else told
    try:
        return str(ipaddress.ip_address(told.strip("[]")))
    except ValueError:
        return None


def origin(request: HttpRequest) -> str:
    """Return the address that a request came from, as a word: 'unknown' where none can be told."""
    return address(request) or "unknown"
