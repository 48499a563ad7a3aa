"""What was written down wrongly of a notice is corrected with a reason; what it names is not."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.recalls.services.closing import close_case
from tests.factories import refreshed

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(signed_in, owner):
    return signed_in(owner)


def url(case, name: str = "recall-detail") -> str:
    return reverse(name, args=[case.pk])


def correction(case, **fields) -> dict:
    """What the form shows, with `fields` typed over it."""
    received = timezone.localtime(case.received_at)
    return {
        "maker": case.maker, "reference": case.reference, "recall_class": case.recall_class,
        "notice_on": f"{case.notice_on}", "received_at": f"{received:%Y-%m-%dT%H:%M}",
        "text": case.text, "level": case.level, "reason": "Mistyped", **fields,
    }  # fmt: skip


def test_a_slip_in_the_notice_is_corrected_with_a_reason(client, case):
    page = client.get(url(case)).content.decode()
    assert url(case, "recall-correct") in page
    answer = client.post(url(case, "recall-correct"), correction(case, reference="FSN-15"))
    assert answer.headers["Location"] == url(case)
    corrected = refreshed(case)
    assert (corrected.reference, corrected.received_at) == ("FSN-15", case.received_at)
    told = AuditEvent.objects.get(action="recall.notice_corrected")
    assert [part in told.data for part in ("FSN-14", "FSN-15", "Mistyped", "received_at")] == [
        True, True, True, False,
    ]  # fmt: skip


def test_the_stopwatch_follows_the_time_at_which_the_notice_came(client, case):
    earlier = timezone.localtime(case.received_at) - timedelta(hours=3)
    client.post(
        url(case, "recall-correct"), correction(case, received_at=f"{earlier:%Y-%m-%dT%H:%M}")
    )
    assert refreshed(case).received_at == earlier.replace(second=0, microsecond=0)
    later = f"{timezone.localtime(case.opened_at) + timedelta(minutes=1):%Y-%m-%dT%H:%M}"
    answer = client.post(url(case, "recall-correct"), correction(case, received_at=later))
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "fields", [{"reason": " "}, {"reference": ""}, {"notice_on": "2099-01-01"}]
)
def test_a_wrong_correction_changes_nothing(client, case, fields):
    answer = client.post(url(case, "recall-correct"), correction(case, maker="Other") | fields)
    assert answer.status_code == 422
    assert refreshed(case).maker == "Example Maker"


def test_a_drill_is_timed_from_its_beginning_whatever_is_corrected(client, drill):
    client.post(
        url(drill, "recall-correct"),
        correction(drill, reference="Spring drill", received_at="2026-11-01T10:00"),
    )
    corrected = refreshed(drill)
    assert (corrected.reference, corrected.received_at) == ("Spring drill", drill.received_at)


def test_a_closed_case_is_not_corrected(client, case, owner):
    things = dict.fromkeys(("list", "to_pull", "people", "checks"), "Because")
    close_case(case=case, note="", explanations=things, actor=owner)
    sent = correction(case, reference="FSN-15")
    answer = client.post(url(case, "recall-correct"), sent, follow=True)
    assert "is closed and never changes" in answer.content.decode()
    assert refreshed(case).reference == "FSN-14"
