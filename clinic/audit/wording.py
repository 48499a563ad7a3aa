"""The audit trail in words: what was done to what, and what it was before and after."""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db.models import Model, Value
from django.db.models.expressions import Combinable
from django.db.models.functions import Concat
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent

NOTHING = "–"
_ACTS = {
    "read": "Opened",
    "read.access": "Opened the list of who saw what",
    "access.printed": "Printed the list of who saw what",
    "access.exported": "Exported the list of who saw what",
    "read.day": "Kept on the tablet for the day",
    "printed": "Printed",
    "exported": "Exported",
}
# The field a thing is known by in the clinic; everything else goes by its number in the books.
_KNOWN_BY: dict[str, str | Combinable] = {
    "patient": "record_number", "lot": "number", "unitofstock": "label", "product": "name",
    "user": "full_name", "place": "name", "recallcase": "number",
    "room": Concat("site__name", Value(", "), "name"), "site": "name",
}  # fmt: skip
# Where the clinic looks at a thing. The addresses of other packages are known by their names alone.
_PAGES = {
    "patient": "patient-detail", "lot": "lot-detail", "unitofstock": "unit-detail",
    "product": "product-edit", "user": "staff-edit", "treatmentsession": "session-detail",
    "quarantine": "quarantine-detail", "place": "place-edit",
    "adverseevent": "adverse-event-detail", "recallcase": "recall-detail",
    "stockcount": "count-detail", "assessment": "assessment-detail", "consent": "consent-detail",
    "reviewrecord": "outcome-detail", "wholerecord": "whole-record-detail",
}  # fmt: skip
# What the trail calls a thing where no field of the event's subject says which kind it is.
_KIND_OF_NAME = {"session": "treatmentsession", "count": "stockcount"}
_NOUNS = {"treatmentsession": "Session", "sessionpicture": "Photograph"}
_ROW_ID = re.compile(r"[0-9]{1,18}")


@dataclass(frozen=True)
class Change:
    """One field, before and after; "–" stands for nothing. A thing with a page has its address."""

    label: str
    before: str
    after: str
    before_url: str = ""
    after_url: str = ""


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


@dataclass(frozen=True)
class _Data:
    """What an event holds, taken apart."""

    before: dict
    after: dict
    reason: str

    @property
    def names(self) -> list[str]:
        return [*self.before, *(name for name in self.after if name not in self.before)]


def told(events: Iterable[AuditEvent]) -> list[Told]:
    """The events in words; a row whose data cannot be read is shown as it is stored."""
    read = [(event, _data(event)) for event in events]
    known = _names(read)
    return [_tell(event, data, known) for event, data in read]


def _data(event: AuditEvent) -> _Data:
    try:
        stored = json.loads(event.data)
        before, after = stored.get("before") or {}, stored.get("after") or {}
        return _Data(dict(before), dict(after), str(stored.get("reason") or ""))
    except (ValueError, AttributeError, TypeError):
        return _Data({}, {}, event.data)


def act_label(action: str) -> str:
    """ "lot.quarantined" -> "Lot quarantined"."""
    return _ACTS.get(action) or action.replace(".", " ").replace("_", " ").capitalize()


def subject_label(subject_type: str) -> str:
    """The thing's name as pages use it, "unitofstock" -> "Unit of stock"."""
    model = _models().get(subject_type)
    noun = _NOUNS.get(subject_type) or str(model._meta.verbose_name if model else subject_type)
    return noun.capitalize()


def _names(read: list[tuple[AuditEvent, _Data]]) -> dict[tuple[str, str], str]:
    """What people call the things that are told of, by kind and id; one query a kind."""
    wanted: dict[str, set[int]] = {kind: set() for kind in _KNOWN_BY}
    for event, data in read:
        if event.patient_id:
            wanted["patient"].add(event.patient_id)
        for kind, row_id in [(event.subject_type, event.subject_id), *_pointed_at(event, data)]:
            if kind in wanted and _ROW_ID.fullmatch(row_id):
                wanted[kind].add(int(row_id))
    models = _models()
    names: dict[tuple[str, str], str] = {}
    for kind, ids in wanted.items():
        if ids and kind in models:
            rows = models[kind]._default_manager.filter(pk__in=ids)
            names |= {
                (kind, str(pk)): str(name) for pk, name in rows.values_list("pk", _KNOWN_BY[kind])
            }
    return names


def _pointed_at(event: AuditEvent, data: _Data) -> Iterator[tuple[str, str]]:
    """Kind and id of every other thing that the event's fields hold."""
    model = _models().get(event.subject_type)
    for values in (data.before, data.after):
        for name, value in values.items():
            yield _kind(model, name), str(value)


def _kind(model: type[Model] | None, name: str) -> str:
    """The kind of thing that a field points at; "" for a plain value."""
    field = _field(model, name)
    if field is None:
        return _KIND_OF_NAME.get(name, "")
    return str(field.related_model._meta.model_name) if field.many_to_one else ""


def _tell(event: AuditEvent, data: _Data, known: dict[tuple[str, str], str]) -> Told:
    model = _models().get(event.subject_type)
    changes = []
    for name in data.names:
        (before, before_url), (after, after_url) = (
            _thing(model, name, values.get(name), known) for values in (data.before, data.after)
        )
        changes.append(Change(_field_label(model, name), before, after, before_url, after_url))
    return Told(
        event=event,
        what=act_label(event.action),
        subject=f"{subject_label(event.subject_type)} "
        + known.get((event.subject_type, event.subject_id), event.subject_id),
        patient=known.get(("patient", str(event.patient_id)), ""),
        who=event.actor.full_name if event.actor else "Command",
        reason=data.reason,
        changes=tuple(changes),
    )


def _thing(
    model: type[Model] | None, name: str, value, known: dict[tuple[str, str], str]
) -> tuple[str, str]:
    """A value in words, and the address of the thing it points at or ""."""
    kind, row_id = _kind(model, name), str(value)
    if not kind or not _ROW_ID.fullmatch(row_id):
        return _shown(model, name, value), ""
    words = known.get((kind, row_id)) or f"{subject_label(kind)} {row_id}"
    try:
        return words, reverse(_PAGES[kind], kwargs={"pk": int(row_id)})
    except (KeyError, NoReverseMatch):
        return words, ""


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
    except (ValueError, OverflowError):
        pass
    return text
