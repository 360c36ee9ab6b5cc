"""Where sign-ins are kept, of leaders and participants. The table holds a digest of the cookie's key, never the key.

The digest is keyed with SECRET_KEY: a copy of the table opens nothing, and another key ends every sign-in.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends import db
from django.contrib.sessions.models import Session
from django.utils import timezone
from django.utils.crypto import salted_hmac

SALT = "fairhide.session"
DEVICE_NAME = "device_name"  # of the browser that a leader signed in with
DIGEST_LETTERS = 40  # 160 bits in hex, as wide as the column of the sessions' table


def session_digest(session_key: str) -> str:
    """What is stored of a session's key."""
    return salted_hmac(SALT, session_key, algorithm="sha256").hexdigest()[:DIGEST_LETTERS]


class SessionStore(db.SessionStore):
    """Django's sessions in the database, each found by the digest of its key."""

    def _get_session_from_db(self) -> Any:
        row = self._rows_alive().first()
        if row is None:
            self._session_key = None  # as the parent does: a key without a row is not used again
        return row

    async def _aget_session_from_db(self) -> Any:
        row = await self._rows_alive().afirst()
        if row is None:
            self._session_key = None
        return row

    def _rows_alive(self) -> Any:
        digest = session_digest(self.session_key or "")
        return self.model.objects.filter(session_key=digest, expire_date__gt=timezone.now())

    def exists(self, session_key: str) -> bool:
        return super().exists(session_digest(session_key))

    async def aexists(self, session_key: str) -> bool:
        return await super().aexists(session_digest(session_key))

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        row = super().create_model_instance(data)
        row.session_key = session_digest(row.session_key)
        return row

    async def acreate_model_instance(self, data: dict[str, Any]) -> Any:
        row = await super().acreate_model_instance(data)
        row.session_key = session_digest(row.session_key)
        return row

    def delete(self, session_key: str | None = None) -> None:
        key = session_key or self.session_key
        if key:
            super().delete(session_digest(key))

    async def adelete(self, session_key: str | None = None) -> None:
        key = session_key or self.session_key
        if key:
            await super().adelete(session_digest(key))


@dataclass(frozen=True)
class LeaderSession:
    """Where a leader is signed in: the device in words, when it was last noted to be used, and whether it asks now."""

    row: Session
    name: str
    seen_at: datetime
    is_here: bool


def leader_sessions(leader: Any, here: str | None = None) -> list[LeaderSession]:
    """Everywhere a leader is signed in, the last used first; `here`: the key of the session that asks."""
    kept, digest = timedelta(seconds=settings.SESSION_COOKIE_AGE), session_digest(here or "")
    who = {SESSION_KEY: str(leader.pk), HASH_SESSION_KEY: leader.get_session_auth_hash()}
    found = []
    for row in Session.objects.filter(expire_date__gt=timezone.now()).order_by("-expire_date").iterator():
        data = row.get_decoded()
        if who.items() <= data.items():
            name = data.get(DEVICE_NAME) or "device"
            found.append(LeaderSession(row, name, row.expire_date - kept, row.session_key == digest))
    return found


def leader_sessions_end(leader: Any, *, but: str | None = None) -> None:
    """Sign a leader out everywhere; `but`: the key of the session that stays."""
    for session in leader_sessions(leader, but):
        if not (but and session.is_here):
            session.row.delete()
