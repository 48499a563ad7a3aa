"""What the database itself holds about occlusion logs."""

import uuid

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from records.occlusions.models import HandoverSheet, Occlusion, OcclusionEntry
from records.occlusions.services import give_out_sheet
from tests.factories import make_occlusion_line

pytestmark = pytest.mark.django_db


def store(log, **fields) -> OcclusionEntry:
    now = timezone.now()
    return OcclusionEntry.objects.create(
        occlusion=log, key=uuid.uuid4(), at=now, tablet_at=now, received_at=now,
        by=log.session.injector, **fields,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"what": "prayer"}, "occlusion_entry_is_known"),
        ({"what": "refill"}, "occlusion_refill_has_refill_tenths"),
        ({"what": "refill", "refill_tenths": 301}, "occlusion_refill_has_refill_tenths"),
        ({"what": "pain"}, "occlusion_pain_has_pain"),
        ({"what": "pain", "pain": 11}, "occlusion_pain_has_pain"),
        ({"what": "note", "text": "x", "pain": 3}, "occlusion_pain_has_pain"),
        ({"what": "dose", "dose_centiunits": 0}, "occlusion_dose_has_dose_centiunits"),
        ({"what": "timer", "minutes": 14}, "occlusion_timer_has_minutes"),
        ({"what": "first_sign"}, "occlusion_first_sign_has_moment"),
        ({"what": "photo"}, "occlusion_photo_has_picture"),
        ({"what": "ended", "grade": "2"}, "occlusion_ended_has_event"),
        ({"what": "call"}, "occlusion_call_names_whom"),
        ({"what": "note"}, "occlusion_note_says_something"),
        ({"what": "step"}, "occlusion_note_says_something"),
    ],
)
def test_a_line_that_says_nothing_or_too_much_is_refused(log, fields, constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        store(log, **fields)


@pytest.mark.parametrize("model", [Occlusion, OcclusionEntry, HandoverSheet])
def test_what_was_written_is_neither_changed_nor_deleted(log, owner, model, monkeypatch):
    make_occlusion_line(log, what="pain", pain=7)
    monkeypatch.setattr("records.occlusions.services.render_pdf", str.encode)
    give_out_sheet(occlusion=log, actor=owner)
    fields = {"digest": "0" * 64} if model is HandoverSheet else {"at": timezone.now()}
    rows = model.objects.all()
    for act in (lambda: rows.update(**fields), lambda: rows._raw_delete("default")):
        with pytest.raises(IntegrityError), transaction.atomic():
            act()


def test_a_sheet_is_kept_once_for_each_number_of_lines(log):
    sheet = {"occlusion": log, "entries": 0, "pdf": b"%PDF", "digest": "0" * 64}
    HandoverSheet.objects.create(made_at=timezone.now(), **sheet)
    with pytest.raises(IntegrityError), transaction.atomic():
        HandoverSheet.objects.create(made_at=timezone.now(), **sheet)
