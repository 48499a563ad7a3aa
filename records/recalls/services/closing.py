"""Closing a case for good."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import QuerySet
from django.utils import timezone

from clinic.audit.services import acting, snapshot
from clinic.quarantine.services import SPAN_FIELDS
from records.recalls.errors import StillOpen
from records.recalls.models import CaseCheck, CaseContact, RecallCase
from records.recalls.queries.closing import OpenThing, open_things
from records.recalls.queries.extent import extent_of
from records.recalls.services.cases import CASE_FIELDS
from records.recalls.services.lists import refresh_call_list, refresh_pull_list
from records.recalls.services.locking import lock_open

CLOSING_FIELDS = ["closed_at", "closed_by", "closed_name", "closing_note"]
_CASE_CONTENT = [*CASE_FIELDS, "opened_at", "opened_by", "quarantined_at", "list_at", "list_by"]


def close_case(
    *, case: RecallCase, note: str, explanations: Mapping[str, str], actor
) -> RecallCase:
    """
    Close the case under the name of whoever does it; from then on nothing in it changes.

    Args:
        note: what is to be said of the case as a whole.
        explanations: why a thing stays open, by its key in `queries.closing.open_things`.

    Raises:
        StillOpen: something is open and not explained; it names each.
        CaseClosed: somebody else was faster.
    """
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        extent = extent_of(stored)
        refresh_call_list(stored, actor=actor, extent=extent)
        refresh_pull_list(stored, actor=actor, extent=extent)
        stored.closing_note = _closing_note(note, open_things(stored, extent), explanations)
        stored.closed_at, stored.closed_by = timezone.now(), actor
        stored.closed_name = ", ".join(filter(None, [actor.full_name, actor.registration_number]))
        stored.closed_digest = content_digest(stored)
        stored.save(update_fields=[*CLOSING_FIELDS, "closed_digest"])
        after = snapshot(stored, ["closed_name", "closed_digest"])
        trail.add("recall.closed", stored, after=after)
    return stored


def _closing_note(note: str, things: list[OpenThing], explanations: Mapping[str, str]) -> str:
    said = {thing.key: explanations.get(thing.key, "").strip() for thing in things}
    if left := [thing for thing in things if not said[thing.key]]:
        raise StillOpen(left)
    explained = [f"{thing.title}: {said[thing.key]}" for thing in things]
    return "\n".join(filter(None, [note.strip(), *explained]))


def content_digest(case: RecallCase) -> str:
    """
    SHA-256 over what was done in the case, by whom and when.

    Points and amounts are not in it: they belong to the sessions, which sign them themselves.
    """
    contacts = CaseContact.objects.filter(person__case=case)
    checks = CaseCheck.objects.filter(person__case=case)
    content: dict[str, Any] = {
        "case": snapshot(case, _CASE_CONTENT),
        "spans": _rows(case.spans, *SPAN_FIELDS, "quarantine"),
        "files": _rows(case.files, "name", "digest"),
        "people": _rows(case.people, "patient", "added_at", "appointment", "unreachable_note"),
        "contacts": _rows(contacts, "person", "channel", "outcome", "note", "at", "by"),
        "units": _rows(case.units, "unit", "pulled_at", "pulled_by", "not_found", "movement"),
        "checks": _rows(checks, "person", "position", "result", "note", "at", "by"),
        "events": _rows(case.events, "event", "added_at"),
        "mailings": _rows(case.mailings, "mailing"),
        "closed": snapshot(case, CLOSING_FIELDS),
    }
    text = json.dumps(content, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _rows(rows: Any, *fields: str) -> list[tuple]:
    found: QuerySet = rows.order_by("pk")
    return list(found.values_list(*fields))
