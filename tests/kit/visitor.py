"""Somebody who visits a running office over HTTP, as a page's script does: a session, a form token, JSON."""

from __future__ import annotations

import http.client
import json
from dataclasses import dataclass
from typing import Any

from tests.kit.serving import Office

TOKEN = "t" * 32
WAIT = 30.0  # [s] for one answer


def session_of(person: Any) -> str:
    """Return the key of a new session in which `person` is signed in."""
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    store = SessionStore()
    store[SESSION_KEY] = str(person.pk)
    store[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    store[HASH_SESSION_KEY] = person.get_session_auth_hash()
    store.create()
    return str(store.session_key)


@dataclass(slots=True)
class Visitor:
    """One signed-in visitor with a connection of its own."""

    office: Office
    session: str
    line: http.client.HTTPConnection | None = None

    def ask(self, method: str, path: str, sent: Any = None, **headers: str) -> tuple[int, bytes]:
        """Return status and body; OSError or HTTPException when the line breaks.

        A server may close a line that was idle; what only asks is then asked once more.
        """
        if method == "GET" and self.line is not None:
            try:
                return self._once(method, path, sent, headers)
            except (OSError, http.client.HTTPException):
                pass
        return self._once(method, path, sent, headers)

    def _once(self, method: str, path: str, sent: Any, headers: dict[str, str]) -> tuple[int, bytes]:
        if self.line is None:
            self.line = http.client.HTTPConnection("127.0.0.1", self.office.port, timeout=WAIT)
        body = None if sent is None else json.dumps(sent)
        more = {
            "Cookie": f"slabwright={self.session}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
            "Content-Type": "application/json",
            **headers,
        }
        try:
            self.line.request(method, path, body, more)
            answer = self.line.getresponse()
            return answer.status, answer.read()
        except (OSError, http.client.HTTPException):
            self.line.close()
            self.line = None
            raise

    def close(self) -> None:
        """End the connection."""
        if self.line is not None:
            self.line.close()
            self.line = None
