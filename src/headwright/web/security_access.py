"""The door of a server that is open to the shop network: one password, sessions that end.

The password is kept as its Argon2id hash alone, in memory. A session is a random word in a cookie
that scripts cannot read and other sites cannot send; the server keeps its SHA-256. Failed tries
are slowed down: after each, the next from the same address must wait longer.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError
from starlette.datastructures import Headers

from headwright.errors import InputError

__all__ = ["SESSION_COOKIE", "Access", "read_password"]

SESSION_COOKIE: Final = "headwright-session"
SHORTEST: Final = 10
LONGEST: Final = 256
IDLE_SECONDS: Final = 12 * 3600
MOST_SESSIONS: Final = 200
MOST_ADDRESSES: Final = 2000
FIRST_WAIT_S: Final = 1.0
LONGEST_WAIT_S: Final = 300.0
FREE_TRIES: Final = 3


def read_password(file: Path) -> str:
    """Read the access password from the first line of a file.

    Raises:
        InputError: the file cannot be read, or the password is too short or too long.
    """
    try:
        text = file.read_text(encoding="utf-8")[: LONGEST * 8]
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is not text"
        raise InputError(f"password file: {str(file)[:200]!r} cannot be read: {why}") from None
    return text.partition("\n")[0].strip()


class Access:
    """Knows the password's hash and who is in."""

    def __init__(self, password: str, *, clock: Callable[[], float] = time.monotonic) -> None:
        """Set the password.

        Args:
            password: 10 to 256 characters.
            clock: seconds, for the ends of sessions and the waits.

        Raises:
            InputError: the password is too short or too long.
        """
        if not SHORTEST <= len(password) <= LONGEST:
            raise InputError(
                f"password: has {len(password)} characters; give {SHORTEST} to {LONGEST}"
            )
        self._hasher = PasswordHasher()
        self._hash = self._hasher.hash(password)
        self._clock = clock
        self._sessions: dict[str, float] = {}
        self._failed: dict[str, tuple[int, float]] = {}
        self._lock = threading.Lock()

    def wait_for(self, address: str) -> float:
        """Return how many seconds an address must wait before its next try."""
        with self._lock:
            tries, until = self._failed.get(address, (0, 0.0))
        return max(0.0, until - self._clock()) if tries else 0.0

    def log_in(self, password: str, address: str) -> str | None:
        """Return the word of a new session, or None where the password is wrong or it is too soon.

        Args:
            password: what was typed.
            address: where it came from.
        """
        if self.wait_for(address) > 0.0 or len(password) > LONGEST:
            return None
        self._fail(address)  # counted first, so that many tries at once gain nothing
        try:
            self._hasher.verify(self._hash, password)
        except VerificationError:
            return None
        word = secrets.token_urlsafe(32)
        with self._lock:
            self._failed.pop(address, None)
            self._forget_old()
            while len(self._sessions) >= MOST_SESSIONS:
                del self._sessions[min(self._sessions, key=self._sessions.__getitem__)]
            self._sessions[_digest(word)] = self._clock() + IDLE_SECONDS
        return word

    def _fail(self, address: str) -> None:
        now = self._clock()
        with self._lock:
            tries = self._failed.get(address, (0, 0.0))[0] + 1
            beyond = tries - FREE_TRIES
            wait = min(FIRST_WAIT_S * 2.0**beyond, LONGEST_WAIT_S) if beyond >= 0 else 0.0
            if address not in self._failed and len(self._failed) >= MOST_ADDRESSES:
                del self._failed[next(iter(self._failed))]
            self._failed[address] = (min(tries, 1000), now + wait)

    def lets_in(self, headers: Headers) -> bool:
        """Tell whether a request comes from somebody who logged in; their time starts anew."""
        word = _session_word(headers)
        if not word:
            return False
        name = _digest(word)
        with self._lock:
            self._forget_old()
            if name not in self._sessions:
                return False
            self._sessions[name] = self._clock() + IDLE_SECONDS
        return True

    def log_out(self, headers: Headers) -> None:
        """End the session of a request."""
        with self._lock:
            self._sessions.pop(_digest(_session_word(headers)), None)

    def _forget_old(self) -> None:
        now = self._clock()
        for name in [name for name, ends in self._sessions.items() if ends <= now]:
            del self._sessions[name]


def _session_word(headers: Headers) -> str:
    cookies: SimpleCookie = SimpleCookie()
    try:
        cookies.load(headers.get("cookie", ""))
    except CookieError:
        return ""
    found = cookies.get(SESSION_COOKIE)
    return found.value if found else ""


def _digest(word: str) -> str:
    return hashlib.sha256(word.encode("utf-8", "replace")).hexdigest()
