"""The secret address of a person's diary: made, renewed, revoked and read."""

import hashlib
import secrets
from datetime import datetime
from typing import NamedTuple

from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from records.calendars.errors import NoDiary
from records.calendars.exports import diary_bytes
from records.calendars.models import CalendarFeed
from records.calendars.queries import diary_of, digest_of

SECRET_BYTES = 32


class Reading(NamedTuple):
    """What is answered at a diary's address, with what it is known again by."""

    content: bytes
    digest: str
    since: datetime


def make_feed(*, person: User, actor) -> str:
    """
    A new address for a person's diary; an earlier one dies. Returns the secret, kept nowhere.

    Raises:
        NoDiary: the person sees no patients or has left.
    """
    secret = secrets.token_urlsafe(SECRET_BYTES)
    with acting(actor) as trail:
        held = User.objects.select_for_update(no_key=True).get(pk=person.pk)
        if not (held.is_active and held.is_injector):
            raise NoDiary(f"{held} sees no patients, so there is no diary to read.")
        _revoke(held, actor, trail)
        feed = CalendarFeed.objects.create(
            person=held,
            secret_digest=digest_of(secret),
            made_at=timezone.now(),
            made_by=actor,
        )
        trail.add("calendar_feed.made", feed, after={"person": held.pk})
    return secret


def revoke_feed(*, person: User, actor) -> bool:
    """End the address of a person's diary; False if there was none."""
    with acting(actor) as trail:
        held = User.objects.select_for_update(no_key=True).get(pk=person.pk)
        return _revoke(held, actor, trail)


def _revoke(person: User, actor, trail: Trail) -> bool:
    feed = CalendarFeed.objects.filter(person=person, revoked_at__isnull=True).first()
    if feed is None:
        return False
    feed.revoked_at, feed.revoked_by = timezone.now(), actor
    feed.save(update_fields=["revoked_at", "revoked_by"])
    trail.add("calendar_feed.revoked", feed, before={"person": person.pk})
    return True


def read_feed(feed: CalendarFeed) -> Reading | None:
    """
    The diary now, and since when it reads so; None if it was revoked meanwhile.

    Calendars ask every few minutes, day and night: the trail holds the first reading of each day.
    """
    now = timezone.now()
    lines = list(diary_of(feed.person, timezone.localdate(now)))
    content = diary_bytes(feed.person, lines, current_policy())
    digest = hashlib.sha256(content).hexdigest()
    with acting(feed.person) as trail:
        held = CalendarFeed.objects.select_for_update().get(pk=feed.pk)
        if held.revoked_at is not None:
            return None
        since = _note_reading(held, digest, now, trail)
    return Reading(content, digest, since)


def _note_reading(feed: CalendarFeed, digest: str, now: datetime, trail: Trail) -> datetime:
    """Returns since when the diary reads so."""
    last = feed.fetched_at
    if last is None or timezone.localdate(last) != timezone.localdate(now):
        trail.add("calendar_feed.read", feed, after={"person": feed.person_id})
    if feed.content_digest != digest or feed.content_since is None:
        feed.content_digest, feed.content_since = digest, now
    feed.fetched_at = now
    feed.save(update_fields=["fetched_at", "content_digest", "content_since"])
    return feed.content_since
