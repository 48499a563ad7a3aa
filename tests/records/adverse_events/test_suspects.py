"""
What an event is put down to: unit, points, how serious, how likely, and what a report asks.

Early and delayed: Philipp-Dormston et al., PRS Glob Open 2020;8:e2730. That severity, seriousness
and causality are three things: CTCAE v5.0, ICH E2A and WHO-UMC (the last two from memory).
"""

import csv
import io
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from planning.event_timing import Timing
from records.adverse_events.exports import REPORT_SOURCES
from records.adverse_events.models import AdverseEvent
from records.follow_up.queries.work_list import follow_up
from tests.factories import make_event, make_patient, refreshed
from tests.pdf import pdf_text
from tests.records.adverse_events.test_views import NEW, typed


def refused(act) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        act()


@pytest.fixture
def unit(march):
    return march.session.points.get().unit


def test_unit_points_seriousness_and_cause_are_written_down(ann, march, unit, injector, signed_in):
    point = march.session.points.get()
    data = typed(
        session=march.session.pk, unit=unit.pk, points=[point.pk], seriousness="important",
        causality="probable", next_check_on="2026-12-24",
    )  # fmt: skip
    answer = signed_in(injector).post(f"{NEW}?patient={ann.pk}", data, follow=True)
    event = AdverseEvent.objects.get()
    assert (event.unit, event.lot, event.product) == (unit, march.lot, None)
    assert list(event.points.all()) == [point]
    shown = answer.content.decode()
    for words in ("Otherwise medically important", "Probable", unit.label, "Thu 24 Dec 2026",
                  "10 Mar 2026, 1: Zygomatic region"):  # fmt: skip
        assert words in shown


def test_severity_seriousness_and_cause_may_wait_apart_from_each_other(
    ann, march, injector, signed_in
):
    signed_in(injector).post(f"{NEW}?patient={ann.pk}", typed(grade="3"))
    event = AdverseEvent.objects.get()
    assert (event.grade, event.seriousness, event.causality) == ("3", "", "")


def test_a_product_stands_where_its_lot_is_not_known(ann, march, injector, signed_in):
    client, product = signed_in(injector), march.lot.product
    client.post(f"{NEW}?patient={ann.pk}", typed(product=product.pk))
    event = AdverseEvent.objects.get()
    assert (event.lot, event.suspected_product) == (None, product)


@pytest.mark.parametrize(
    ("days", "timing"), [(0, Timing.EARLY), (28, Timing.EARLY), (29, Timing.DELAYED)]
)
def test_day_28_is_early_and_day_29_delayed(march, ann, injector, days, timing):
    event = make_event(
        injector, ann, session=march.session, onset_on=date(2026, 3, 10) + timedelta(days=days)
    )
    assert event.timing is timing


def test_without_a_session_nobody_can_tell(ann, injector):
    assert make_event(injector, ann).timing is None


def test_suspects_that_do_not_go_together_are_named(ann, march, june, unit, injector, signed_in):
    client, address = signed_in(injector), f"{NEW}?patient={ann.pk}"
    errors = client.post(address, typed(lot=june.lot.pk, unit=unit.pk)).context["form"].errors
    assert f"{unit.label} is of lot M3, not of J6" in errors["unit"][0]
    data = typed(lot=june.lot.pk, product=march.lot.product_id)
    errors = client.post(address, data).context["form"].errors
    assert "Lot J6 is of Filler J6" in errors["product"][0]
    data = typed(grade="5", outcome="fatal", seriousness="not_serious")
    assert (
        "A death is serious" in client.post(address, data).context["form"].errors["seriousness"][0]
    )


def test_points_of_somebody_else_are_not_among_the_choices(ann, march, desk, injector, signed_in):
    bea = make_patient(desk, "Bea Example")
    data = typed(points=[march.session.points.get().pk])
    answer = signed_in(injector).post(f"{NEW}?patient={bea.pk}", data)
    assert "not one of the available choices" in answer.context["form"].errors["points"][0]


def test_points_that_were_chosen_or_taken_away_are_in_the_history(event, march, owner, signed_in):
    client = signed_in(owner)
    address = reverse("adverse-event-edit", args=[event.pk])
    kept = stored(client, address)
    point = march.session.points.get()
    client.post(address, kept | {"points": [point.pk]})
    client.post(address, stored(client, address) | {"points": []})
    shown = client.get(reverse("adverse-event-detail", args=[event.pk])).content.decode()
    words = "10 Mar 2026, 1: Zygomatic region"
    assert f"Points: <bdi>–</bdi>, then <bdi>{words}" in shown
    assert f"Points: <bdi>{words}" in shown


def stored(client, address) -> dict:
    form = client.get(address).context["form"]
    values = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in values.items() if value not in (None, "")}


def seen(values: dict) -> dict:
    """What the page carries of the values it shows."""
    return {f"initial-{name}": value for name, value in values.items()}


def test_two_who_write_at_once_keep_each_other_s_words(event, owner, signed_in):
    client = signed_in(owner)
    address = reverse("adverse-event-edit", args=[event.pk])
    page = stored(client, address)
    carried = seen(page | {"actions": "", "causality": "", "seriousness": ""})
    AdverseEvent.objects.filter(pk=event.pk).update(actions="Warm compress.")
    client.post(address, page | carried | {"causality": "possible"})
    event = refreshed(event)
    assert (event.actions, event.causality) == ("Warm compress.", "possible")
    answer = client.post(address, page | carried | {"actions": "Massage."})
    assert (
        "Somebody changed this from nothing to “Warm compress.”"
        in (answer.context["form"].errors["actions"][0])
    )
    assert "Massage." in answer.content.decode()


def test_the_next_check_stands_on_the_follow_up_list(event, injector, signed_in):
    AdverseEvent.objects.filter(pk=event.pk).update(next_check_on=date(2026, 12, 24))
    (row,) = follow_up(ClinicPolicy(), clinical=True)[:5]
    assert row.case.deadline_on == date(2026, 12, 24)
    assert "24 Dec 2026" in signed_in(injector).get(reverse("follow-up")).content.decode()


def test_a_report_holds_what_authorities_ask_and_no_name(event, unit, injector, signed_in):
    client = signed_in(injector)
    AdverseEvent.objects.filter(pk=event.pk).update(
        unit=unit, seriousness="important", causality="possible"
    )
    event.points.set(unit.points.all())
    answer = client.get(reverse("adverse-event-csv", args=[event.pk]))
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    rows = {
        (row["section"], row["field"]): row["value"] for row in csv.DictReader(io.StringIO(text))
    }
    assert rows["Patient", "Code"] == event.patient.record_number
    assert rows["Event", "Days after the treatment"] == "2"
    assert rows["Event", "Early or delayed"] == "Early"
    assert rows["Event", "Severity (CTCAE v5.0)"] == "Grade 1, mild"
    assert rows["Event", "Causality (WHO-UMC)"] == "Possible"
    assert rows["Suspected product", "Lot"] == "M3"
    assert rows["Suspected product", "Point"].startswith("10 Mar 2026, 1: Zygomatic region")
    assert rows["Reporter", "Name"] == "Ida Injector"
    assert "Ann" not in text
    pdf = client.get(reverse("adverse-event-report", args=[event.pk])).content
    said = pdf_text(pdf)
    for words in ("Check your authority’s form", "M3", "Possible", REPORT_SOURCES[0].title[:20]):
        assert words in said
    acts = set(AuditEvent.objects.values_list("action", flat=True))
    assert {"exported", "adverse_event.printed"} <= acts


def test_what_was_typed_is_no_formula_of_a_spreadsheet(ann, injector, signed_in):
    event = make_event(injector, ann, signs="=1+1")
    answer = signed_in(injector).get(reverse("adverse-event-csv", args=[event.pk]))
    assert "'=1+1" in b"".join(answer.streaming_content).decode()


@pytest.mark.parametrize(
    "change",
    [{"seriousness": "grave"}, {"causality": "sure"}, {"lot": None},
     {"grade": "5", "outcome": "fatal", "seriousness": "not_serious"}],
)  # fmt: skip
def test_what_cannot_be_is_refused(event, unit, change):
    AdverseEvent.objects.filter(pk=event.pk).update(unit=unit)
    refused(lambda: AdverseEvent.objects.filter(pk=event.pk).update(**change))


def test_unit_product_and_points_that_belong_elsewhere_are_refused(
    event, ann, june, unit, desk, owner, injector
):
    other = june.session.points.get()
    refused(lambda: AdverseEvent.objects.filter(pk=event.pk).update(unit=other.unit))
    refused(lambda: AdverseEvent.objects.filter(pk=event.pk).update(product=june.lot.product))
    bea = make_event(injector, make_patient(desk, "Bea Example"))
    refused(lambda: bea.points.add(other))
