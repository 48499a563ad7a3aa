"""The audit trail in words: what was done to what, and what it was before and after."""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db.models import Model
from django.utils import timezone

from clinic.audit.models import AuditEvent

NOTHING = "–"
_ACTS = {
    "read": "Opened",
    "printed": "Printed",
    "exported": "Exported",
}
# The field a thing is known by in the clinic; everything else goes by its number in the books.
_KNOWN_BY = {
    "patient": "record_number", "lot": "number", "unitofstock": "label", "product": "name",
    "user": "full_name",
}  # fmt: skip
_ROW_ID = re.compile(r"[0-9]{1,18}")


@dataclass(frozen=True)
class Change:
    """One field, before and after; "–" stands for nothing."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class Told:
    """An event as the page shows it."""

    event: AuditEvent
    what: str
    subject: str
    patient: str
    who: str
    reason: str
    changes: tuple[Change, ...]


def told(events: Iterable[AuditEvent]) -> list[Told]:
    """The events in words; a row whose data cannot be read is shown as it is stored."""
    events = list(events)
    known = _names(events)
    return [_tell(event, known) for event in events]


def act_label(action: str) -> str:
    """ "lot.quarantined" -> "Lot quarantined"."""
    return _ACTS.get(action) or action.replace(".", " ").replace("_", " ").capitalize()


def subject_label(subject_type: str) -> str:
    """The thing's name as pages use it, "unitofstock" -> "Unit of stock"."""
    model = _models().get(subject_type)
    return str(model._meta.verbose_name if model else subject_type).capitalize()


def _names(events: list[AuditEvent]) -> dict[tuple[str, str], str]:
    """What people call the things that `events` are about, by kind and id; one query a kind."""
    wanted: dict[str, set[int]] = {kind: set() for kind in _KNOWN_BY}
    for event in events:
        if event.patient_id:
            wanted["patient"].add(event.patient_id)
        if event.subject_type in wanted and _ROW_ID.fullmatch(event.subject_id):
            wanted[event.subject_type].add(int(event.subject_id))
    models = _models()
    names: dict[tuple[str, str], str] = {}
    for kind, ids in wanted.items():
        if ids and kind in models:
            rows = models[kind]._default_manager.filter(pk__in=ids)
            names |= {
                (kind, str(pk)): str(name) for pk, name in rows.values_list("pk", _KNOWN_BY[kind])
            }
    return names


def _tell(event: AuditEvent, known: dict[tuple[str, str], str]) -> Told:
    try:
        data = json.loads(event.data)
        before, after = data.get("before") or {}, data.get("after") or {}
        reason = str(data.get("reason") or "")
        names = [*before, *(name for name in after if name not in before)]
    except (ValueError, AttributeError, TypeError):
        before, after, reason, names = {}, {}, event.data, []
    model = _models().get(event.subject_type)
    return Told(
        event=event,
        what=act_label(event.action),
        subject=f"{subject_label(event.subject_type)} "
        + known.get((event.subject_type, event.subject_id), event.subject_id),
        patient=known.get(("patient", str(event.patient_id)), ""),
        who=event.actor.full_name if event.actor else "Command",
        reason=reason,
        changes=tuple(
            Change(
                _field_label(model, name),
                _shown(model, name, before.get(name)),
                _shown(model, name, after.get(name)),
            )
            for name in names
        ),
    )


def _models() -> dict[str, type[Model]]:
    return {str(model._meta.model_name): model for model in apps.get_models()}


def _field(model: type[Model] | None, name: str):
    try:
        return model._meta.get_field(name) if model else None
    except FieldDoesNotExist:
        return None


def _field_label(model: type[Model] | None, name: str) -> str:
    field = _field(model, name)
    label = str(getattr(field, "verbose_name", "") or name.replace("_", " "))
    return label[:1].upper() + label[1:]


def _shown(model: type[Model] | None, name: str, value) -> str:
    if value is None or value in ("", [], {}):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    choices = dict(getattr(_field(model, name), "flatchoices", None) or [])
    if isinstance(value, str) and value in choices:
        return str(choices[value])
    if isinstance(value, list):
        return ", ".join(_shown(None, "", item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_shown(None, '', item)}" for key, item in value.items())
    return _moment(value) if isinstance(value, str) else f"{value}"


def _moment(text: str) -> str:
    """A date or a time in ISO form as pages write it; any other text stays."""
    try:
        if len(text) == 10:
            return f"{date.fromisoformat(text):%-d %b %Y}"
        if len(text) > 18 and text[10] == "T":
            return f"{timezone.localtime(datetime.fromisoformat(text)):%-d %b %Y, %H:%M}"
    except ValueError:
        pass
    return text
