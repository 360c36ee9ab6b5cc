"""Addresses that open something without a password: HMAC(key, kind, uuid, counter). Nothing of them is stored.

A token reads `kind-letter uuid-hex . counter . mac`. Who holds an old one can be told that it was replaced, since its
mac proves that it was once given out; a mangled one proves nothing and gets no answer about anybody.
"""

import base64
import re
import secrets
import uuid
from dataclasses import dataclass

from django.conf import settings
from django.utils.crypto import constant_time_compare, salted_hmac

SALT = "fairhide.address"
LETTERS = {
    "mail": "m",
    "handed": "h",
    "feed_person": "p",
    "feed_trip": "t",
    "feed_owner": "o",
    "owner_sheet": "s",
    "driver": "d",
}
KINDS = {letter: kind for kind, letter in LETTERS.items()}
SHAPE = re.compile(r"([a-z])([0-9a-f]{32})\.([1-9][0-9]{0,8})\.([A-Za-z0-9_-]{22})")
MAC_BYTES = 16  # 128 bits: beyond guessing, and short enough for an address
CODE_DIGITS = 6  # what people type without a slip; tries are counted


@dataclass(frozen=True, slots=True)
class Address:
    """What a genuine token says: its kind (one of LINK_KINDS), whose it is, and which one of that owner's."""

    kind: str
    owner_uuid: uuid.UUID
    counter: int


def address_token(*, kind: str, owner_uuid: uuid.UUID, counter: int) -> str:
    """The token of an address, safe in a path and in a file name."""
    return f"{LETTERS[kind]}{owner_uuid.hex}.{counter}.{_mac(kind, owner_uuid, counter)}"


def token_read(token: str) -> Address | None:
    """The address behind a token, or None when it is not one of ours. Calendars' may be made with a key of before."""
    match = SHAPE.fullmatch(token)
    if match is None or match[1] not in KINDS:
        return None
    address = Address(KINDS[match[1]], uuid.UUID(hex=match[2]), int(match[3]))
    keys = [settings.SECRET_KEY, *(settings.SECRET_KEY_FALLBACKS if address.kind.startswith("feed_") else ())]
    macs = [_mac(address.kind, address.owner_uuid, address.counter, key) for key in keys]
    return address if any(constant_time_compare(match[4], mac) for mac in macs) else None


def code_make() -> str:
    """A fresh six-digit code for a mail."""
    return f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}d}"


def code_digest(code: str, *, owner_uuid: uuid.UUID, counter: int) -> str:
    """What is stored of a code: keyed, so that the database alone does not give it away."""
    return salted_hmac("fairhide.code", f"{owner_uuid.hex}:{counter}:{code}", algorithm="sha256").hexdigest()


def text_digest(text: str) -> str:
    """A keyed digest of something typed (an e-mail address), to count tries without keeping the text."""
    return salted_hmac("fairhide.typed", text.strip().lower(), algorithm="sha256").hexdigest()


def _mac(kind: str, owner_uuid: uuid.UUID, counter: int, key: str | None = None) -> str:
    digest = salted_hmac(SALT, f"{kind}:{owner_uuid.hex}:{counter}", secret=key, algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest[:MAC_BYTES]).rstrip(b"=").decode()
