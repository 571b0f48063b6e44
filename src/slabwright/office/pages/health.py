"""Whether the office stands: for a monitor, without anything private."""

from __future__ import annotations

from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse


def health(_request: HttpRequest) -> JsonResponse:
    """Return 200 {"status": "ok"} when the database answers, else 503."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM office_shop LIMIT 1")
    except DatabaseError:
        return JsonResponse({"status": "database"}, status=503)
    return JsonResponse({"status": "ok"})
