"""Sign-in links: made, sent, handed over, pressed, revoked. Devices: named and signed out."""

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from participants import tokens
from participants.core.errors import CoreError
from participants.mail import link_mail_send
from participants.models import AccessLink, Device, LinkPress, Participant
from participants.selectors import free_again_at, link_of, presses_since
from participants.session_store import session_digest

LINK_DAYS = 14  # people read the mail of a trip late, and a lost mail must not open for ever
PRESSES_AN_HOUR = 5  # enough for slips of the thumb; with six digits guessing stays hopeless
WRONG_CODES_IN_ALL = 15  # over a link's life: a chance of 15 in a million
HANDED_DEVICES = 3  # a phone, a tablet, a computer: whoever gets hold of the link later is not let in
MAILS_AN_HOUR = 3  # so that nobody's mailbox can be filled by a form
ASKS_AN_HOUR = 20  # from one network: all guests of a lodge may come from one address
HOUR = timedelta(hours=1)
SIGN_IN_KINDS = ("mail", "handed")
COUNTERS_LOST = 10_000  # more links than anybody is given between a backup and its restore


class LinkRefused(CoreError):
    """A link that does not open: `until`, and `reason` (unknown, replaced, revoked, expired, used_up, wrong_code,
    too_many).
    """


@dataclass(frozen=True)
class FreshLink:
    """An address that is to follow the one before it, and its code ("" where none)."""

    kind: str
    owner_uuid: uuid.UUID
    counter: int
    code: str

    @property
    def token(self) -> str:
        """What its address carries."""
        return tokens.address_token(kind=self.kind, owner_uuid=self.owner_uuid, counter=self.counter)


def link_prepare(*, kind: str, owner_uuid: uuid.UUID) -> FreshLink:
    """The next address of that kind; nothing changes before `link_put_in_force`."""
    before = link_of(kind=kind, owner_uuid=owner_uuid)
    code = tokens.code_make() if kind == "mail" else ""
    return FreshLink(kind, owner_uuid, before.counter + 1 if before else 1, code)


@transaction.atomic
def link_put_in_force(fresh: FreshLink) -> None:
    """The fresh address opens from now on; the one before it stops working."""
    now = timezone.now()
    link, _ = AccessLink.objects.select_for_update().get_or_create(
        kind=fresh.kind, owner_uuid=fresh.owner_uuid, defaults={"made_at": now}
    )
    digest = tokens.code_digest(fresh.code, owner_uuid=fresh.owner_uuid, counter=fresh.counter)
    link.counter, link.code_digest = fresh.counter, digest if fresh.code else ""
    link.made_at, link.expires_at, link.revoked_at = now, now + timedelta(days=LINK_DAYS), None
    link.version += 1
    link.save()
    LinkPress.objects.filter(key=_wrong_key(link)).delete()


def link_check(token: str, *, kinds: tuple[str, ...]) -> AccessLink:
    """The live link behind a token; `LinkRefused` with the reason otherwise. Changes nothing."""
    address = tokens.token_read(token)
    if address is None or address.kind not in kinds:
        raise LinkRefused(reason="unknown")
    link = AccessLink.objects.filter(kind=address.kind, owner_uuid=address.owner_uuid).first()
    if link is None:
        raise LinkRefused(reason="unknown")
    if link.revoked_at is not None:
        raise LinkRefused(reason="revoked")
    if link.counter != address.counter:
        raise LinkRefused(reason="replaced")
    if link.expires_at is not None and link.expires_at <= timezone.now():
        raise LinkRefused(reason="expired")
    return link


def link_press(*, token: str, code: str = "") -> Participant:
    """One try to come in. Every try counts, five an hour; after many wrong codes the link is dead for good.

    A link handed over opens HANDED_DEVICES times.
    """
    refused, person = _pressed(token, code.strip())
    if person is None:
        raise refused or LinkRefused(reason="unknown")
    return person


@transaction.atomic
def _pressed(token: str, code: str) -> tuple[LinkRefused | None, Participant | None]:
    """The try itself; it returns what it refuses, so that the count of tries is kept."""
    try:
        found = link_check(token, kinds=SIGN_IN_KINDS)
    except LinkRefused as refused:
        return refused, None
    link = AccessLink.objects.select_for_update().get(pk=found.pk)
    LinkPress.objects.filter(pressed_at__lt=timezone.now() - timedelta(days=2 * LINK_DAYS)).delete()
    now, key = timezone.now(), f"{link.kind}:{link.owner_uuid}"
    came_in = f"in:{key}:{link.counter}"
    if link.kind == "handed" and LinkPress.objects.filter(key=came_in).count() >= HANDED_DEVICES:
        return LinkRefused(reason="used_up"), None
    until = free_again_at(key, now=now, window=HOUR, most=PRESSES_AN_HOUR)
    if until is not None:
        return LinkRefused(reason="too_many", until=until), None
    person = Participant.objects.filter(uuid=link.owner_uuid, erased_at__isnull=True).select_related("leader").first()
    digest = tokens.code_digest(code, owner_uuid=link.owner_uuid, counter=link.counter)
    right = not link.code_digest or constant_time_compare(digest, link.code_digest)
    LinkPress.objects.create(key=key, pressed_at=now, worked=right and person is not None)
    if person is None:
        return LinkRefused(reason="revoked"), None
    if right and link.kind == "handed":
        LinkPress.objects.create(key=came_in, pressed_at=now, worked=True)
    return (None, person) if right else (_refuse_wrong(link, now), None)


def _refuse_wrong(link: AccessLink, now: datetime) -> LinkRefused:
    """Count a wrong code over the link's life; end the link when somebody is plainly guessing."""
    LinkPress.objects.create(key=_wrong_key(link), pressed_at=now)
    wrong = presses_since(_wrong_key(link), link.made_at - timedelta(seconds=1)).count()
    if wrong < WRONG_CODES_IN_ALL:
        return LinkRefused(reason="wrong_code")
    AccessLink.objects.filter(pk=link.pk).update(revoked_at=now, version=F("version") + 1)
    return LinkRefused(reason="revoked")


def _wrong_key(link: AccessLink) -> str:
    return f"wrong:{link.kind}:{link.owner_uuid}"


def link_send(*, person: Participant) -> None:
    """Mail a person a fresh link with its code.

    Raises MailNotSent when the mail server refuses; the link before it then goes on working.
    """
    fresh = link_prepare(kind="mail", owner_uuid=person.uuid)
    link_mail_send(person=person, token=fresh.token, code=fresh.code, days=LINK_DAYS)
    link_put_in_force(fresh)


def link_hand_over(*, person: Participant) -> str:
    """A fresh link for the leader to pass on by hand; a press alone opens it. Returns its token."""
    fresh = link_prepare(kind="handed", owner_uuid=person.uuid)
    link_put_in_force(fresh)
    return fresh.token


@transaction.atomic
def links_revoke(*, person: Participant) -> None:
    """End every sign-in link of a person; devices that are signed in stay so."""
    live = AccessLink.objects.filter(owner_uuid=person.uuid, kind__in=SIGN_IN_KINDS, revoked_at__isnull=True)
    live.update(revoked_at=timezone.now(), version=F("version") + 1)


def links_end_all() -> None:
    """End every sign-in link of everybody, those that were made after the rows of a restored backup among them."""
    AccessLink.objects.filter(kind__in=SIGN_IN_KINDS).update(
        counter=F("counter") + COUNTERS_LOST, code_digest="", revoked_at=timezone.now(), version=F("version") + 1
    )


def mail_is_free(*, purpose: str, email: str) -> bool:
    """Whether this address may be mailed for this purpose once more; three an hour, and this one is counted."""
    return _is_free(f"{purpose}:{tokens.text_digest(email)}", MAILS_AN_HOUR)


def asking_is_free(*, network: str) -> bool:
    """Whether a network may ask for a mail once more, to whatever address; this one is counted. Empty: unknown."""
    return not network or _is_free(f"network:{tokens.text_digest(network)}", ASKS_AN_HOUR)


def _is_free(key: str, most: int) -> bool:
    """Whether one more is free within the hour, counted then. Looking comes first: a flood of tries writes nothing."""
    now = timezone.now()
    if free_again_at(key, now=now, window=HOUR, most=most) is not None:
        return False
    LinkPress.objects.create(key=key, pressed_at=now)
    return True


def device_add(*, person: Participant, session_key: str, name: str, is_new: bool = False) -> Device:
    """Note that a person signed in on a device. `is_new`: by a browser that was not theirs before."""
    return Device.objects.create(
        participant=person,
        session_digest=session_digest(session_key),
        name=name[:200],
        signed_in_at=timezone.now(),
        is_new=is_new,
    )


@transaction.atomic
def device_revoke(*, device: Device) -> None:
    """Sign a device out from elsewhere: its session dies now, and it empties itself when it next asks."""
    Device.objects.filter(pk=device.pk).update(revoked_at=timezone.now(), version=F("version") + 1)
    Session.objects.filter(session_key=device.session_digest).delete()


def devices_revoke(*, person: Participant) -> None:
    """Sign a person out everywhere."""
    for device in person.devices.filter(revoked_at__isnull=True):
        device_revoke(device=device)
