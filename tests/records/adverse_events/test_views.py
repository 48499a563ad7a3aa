from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import Closure
from planning.event_cautions import EMERGENCIES, EVENT_CAUTIONS
from records.adverse_events.enums import EventOutcome, Grade
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import close_event
from tests.factories import make_event, make_patient, make_rule, refreshed

NEW = reverse("adverse-event-create")


def typed(**fields) -> dict:
    return {
        "onset_on": "2026-06-12", "grade": "2", "signs": "Swelling that grew over two days.",
        "session": "", "lot": "", "region": "", "side": "", "actions": "", "outcome": "ongoing",
        **fields,
    }  # fmt: skip


@pytest.fixture
def form_of(ann, june):
    """The address of the form for Ann."""
    return f"{NEW}?patient={ann.pk}"


def test_an_event_is_recorded_with_session_lot_and_place(form_of, june, ann, injector, signed_in):
    data = typed(session=june.session.pk, lot=june.lot.pk, region="zygomatic", side="left")
    answer = signed_in(injector).post(form_of, data, follow=True)
    event = AdverseEvent.objects.get()
    assert (event.patient, event.session, event.lot) == (ann, june.session, june.lot)
    assert answer.redirect_chain == [(reverse("adverse-event-detail", args=[event.pk]), 302)]
    shown = answer.content.decode()
    for words in ["Swelling that grew", "Grade 2, moderate", "Zygomatic region, left", "J6",
                  "first signs 2 days later", "Ida Injector"]:  # fmt: skip
        assert words in shown


def test_the_lots_offered_are_those_this_patient_received(
    form_of, march, june, desk, owner, signed_in
):
    form = signed_in(owner).get(form_of).context["form"]
    labels = [str(label) for value, label in form.fields["lot"].choices if value]
    assert labels == [
        "M3, Filler M3 (10 Mar 2026: Zygomatic region)",
        "J6, Filler J6 (10 Jun 2026: Zygomatic region)",
    ]
    assert form.fields["session"].queryset.count() == 2
    other = signed_in(owner).get(f"{NEW}?patient={make_patient(desk, 'Bea').pk}").context["form"]
    assert not other.fields["lot"].queryset.exists()


def test_the_address_may_name_lot_and_session(form_of, june, injector, signed_in):
    page = signed_in(injector).get(f"{form_of}&lot={june.lot.pk}&session={june.session.pk}")
    assert f'<option value="{june.lot.pk}" selected>' in page.content.decode()
    assert f'<option value="{june.session.pk}" selected>' in page.content.decode()


def test_where_the_clinic_never_opens_again_it_is_said_and_nothing_typed_is_lost(
    form_of, june, injector, signed_in
):
    today = timezone.localdate()
    Closure.objects.create(starts_on=today, ends_on=today + timedelta(days=800), reason="Away")
    make_rule("Look soon", kind="", event="adverse_event", count=1, unit="day")
    client, data = signed_in(injector), typed(session=june.session.pk)
    answer = client.post(form_of, data)
    assert answer.status_code == 422
    for words in ("No open day within 366 days", "Swelling that grew"):
        assert words in answer.content.decode()
    assert not AdverseEvent.objects.exists()
    client.post(form_of, data | {"session": ""})
    edit = reverse("adverse-event-edit", args=[AdverseEvent.objects.get().pk])
    answer = client.post(edit, data)
    assert (answer.status_code, AdverseEvent.objects.get().session) == (422, None)


def test_a_recall_case_gets_the_event_to_link(form_of, injector, signed_in):
    address = f"{form_of}&case=7&next=/recalls/7/%3Ftab%3Devents"
    answer = signed_in(injector).post(address, typed())
    event = AdverseEvent.objects.get()
    assert answer["Location"] == f"/recalls/7/?tab=events&event={event.pk}"


@pytest.mark.parametrize("elsewhere", ["https://else.test/", "//else.test/"])
def test_a_next_address_of_somebody_else_leads_nowhere(
    form_of, ann, injector, signed_in, elsewhere
):
    answer = signed_in(injector).post(f"{form_of}&case=7&next={elsewhere}", typed())
    event = AdverseEvent.objects.get()
    assert answer["Location"] == f"{reverse('patient-detail', args=[ann.pk])}?event={event.pk}"


@pytest.mark.parametrize("query", ["", "?patient=", "?patient=999999", "?patient=x&lot=y&case=-1"])
def test_without_a_patient_one_is_chosen_first(ann, injector, signed_in, query):
    page = signed_in(injector).get(f"{NEW}{query}")
    assert page.status_code == 200
    assert "Adverse event: of whom?" in page.content.decode()
    assert f"patient={ann.pk}" in page.content.decode()


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"onset_on": ""}, "onset_on", "First signs is required."),
        ({"onset_on": "1979-12-31"}, "onset_on", "not born by then"),
        ({"onset_on": "2026-06-12x"}, "onset_on", "Type the day as"),
        ({"grade": ""}, "grade", "Grade is required."),
        ({"grade": "6"}, "grade", "6 is not one of the available choices"),
        ({"signs": "  "}, "signs", "Signs is required."),
        ({"outcome": "fatal"}, "outcome", "Grade 5 and the outcome “fatal” go together"),
        ({"grade": "5"}, "outcome", "Grade 5 and the outcome “fatal” go together"),
        ({"lot": "999999"}, "lot", "not one of the available choices"),
        ({"region": "moon"}, "region", "not one of the available choices"),
    ],
)
def test_bad_input_says_what_to_do_and_keeps_what_was_typed(
    form_of, injector, signed_in, fields, field, says
):
    answer = signed_in(injector).post(form_of, typed(actions="Massage.", **fields))
    assert answer.status_code == 422
    assert says in answer.context["form"].errors[field][0]
    assert "Massage." in answer.content.decode()
    assert not AdverseEvent.objects.exists()


def test_a_day_to_come_is_refused(form_of, injector, signed_in):
    tomorrow = timezone.localdate() + timedelta(days=1)
    answer = signed_in(injector).post(form_of, typed(onset_on=tomorrow.isoformat()))
    assert answer.context["form"].errors["onset_on"] == ["This day is still to come."]


def test_lot_day_and_session_have_to_go_together(form_of, march, june, injector, signed_in):
    client = signed_in(injector)
    early = client.post(form_of, typed(session=june.session.pk, onset_on="2026-06-09"))
    assert "The session was on 10 Jun 2026" in early.context["form"].errors["onset_on"][0]
    other = client.post(form_of, typed(session=june.session.pk, lot=march.lot.pk))
    assert (
        "Nothing of lot M3 was given in the session of 10 Jun 2026"
        in (other.context["form"].errors["lot"][0])
    )
    client.post(form_of, typed(lot=march.lot.pk))
    assert AdverseEvent.objects.get().lot == march.lot


def test_the_cautions_stand_where_an_event_is_recorded_each_with_its_source(
    form_of, event, owner, signed_in
):
    client = signed_in(owner)
    for address in (form_of, reverse("adverse-event-list"),
                    reverse("adverse-event-detail", args=[event.pk])):  # fmt: skip
        shown = client.get(address).content.decode()
        for caution in (*EMERGENCIES, *EVENT_CAUTIONS):
            assert caution.source.title in shown
        assert "Advice never replaces licensed judgement" in shown


def test_what_was_done_is_written_later(event, owner, signed_in):
    client = signed_in(owner)
    address = reverse("adverse-event-edit", args=[event.pk])
    kept = {name: client.get(address).context["form"][name].value() or "" for name in typed()}
    answer = client.post(address, kept | {"actions": "Warm compress.", "outcome": "recovering"})
    assert answer.status_code == 302
    event = refreshed(event)
    assert (event.actions, event.outcome) == ("Warm compress.", "recovering")
    shown = client.get(answer["Location"]).content.decode()
    assert "Outcome: <bdi>Ongoing</bdi>, then <bdi>Recovering</bdi>" in shown


def test_closing_asks_how_it_ended(event, owner, signed_in):
    client, address = signed_in(owner), reverse("adverse-event-close", args=[event.pk])
    assert client.get(address).status_code == 200
    refused = client.post(address, {})
    assert refused.status_code == 422
    assert refused.context["form"].errors["outcome"] == ["Say how it ended before you close it."]
    assert client.post(address, {"outcome": "fatal"}).status_code == 422
    client.post(address, {"outcome": "recovered"})
    assert refreshed(event).is_closed


def test_a_closed_event_says_how_to_go_on(event, owner, signed_in):
    close_event(event=event, outcome=EventOutcome.RECOVERED, actor=owner)
    client = signed_in(owner)
    late = client.post(reverse("adverse-event-close", args=[event.pk]), {"outcome": "recovered"})
    assert "Open it again to write more" in late.content.decode()
    edit = client.post(reverse("adverse-event-edit", args=[event.pk]), typed(signs="More."))
    assert "Open it again to write more" in edit.content.decode()
    assert "More." in edit.content.decode()
    reopen = reverse("adverse-event-reopen", args=[event.pk])
    assert client.post(reopen, {"reason": ""}).status_code == 422
    client.post(reopen, {"reason": "It came back"})
    assert not refreshed(event).is_closed
    again = client.post(reopen, {"reason": "It came back"}, follow=True)
    assert "This event is open already." in again.content.decode()


def test_the_list_shows_the_open_ones_first_with_grade_lot_and_outcome(
    event, ann, injector, owner, signed_in
):
    done = make_event(injector, ann, grade=Grade.SEVERE, signs="An old one")
    close_event(event=done, outcome=EventOutcome.WITH_SEQUELAE, actor=owner)
    page = signed_in(injector).get(reverse("adverse-event-list"))
    shown = page.content.decode()
    assert list(page.context["page_obj"]) == [event, done]
    assert "1 open." in shown
    for words in ["Ann Example", "M3", "A firm lump, not red.", "Recovered with lasting effects"]:
        assert words in shown


def test_an_empty_list_says_so(owner, signed_in):
    shown = signed_in(owner).get(reverse("adverse-event-list")).content.decode()
    assert "No adverse event is recorded" in shown


def test_the_panel_of_the_patient_s_page_shows_only_theirs(event, ann, desk, injector, signed_in):
    make_event(injector, make_patient(desk, "Bea Example"), signs="Somebody else’s")
    client = signed_in(injector)
    panel = client.get(reverse("adverse-event-for-patient", args=[ann.pk])).content.decode()
    assert "A firm lump" in panel
    assert "Somebody else’s" not in panel
    assert f"{NEW}?patient={ann.pk}&amp;next=" in panel


def test_a_name_is_never_markup(desk, injector, signed_in):
    patient = make_patient(desk, "<b>Bold</b> & Co")
    event = make_event(injector, patient, signs="<script>alert(1)</script>")
    for address in ("adverse-event-list", None):
        url = reverse(address) if address else reverse("adverse-event-detail", args=[event.pk])
        shown = signed_in(injector).get(url).content.decode()
        assert "&lt;b&gt;Bold&lt;/b&gt; &amp; Co" in shown
        assert "<script>alert" not in shown


@pytest.mark.parametrize("name", ["detail", "edit", "close", "reopen", "for-patient"])
def test_unknown_id_and_wrong_method(event, owner, signed_in, name):
    client = signed_in(owner)
    act = client.post if name == "reopen" else client.get
    assert act(reverse(f"adverse-event-{name}", args=[event.pk + 900])).status_code == 404
    wrong = client.delete(reverse(f"adverse-event-{name}", args=[event.pk]))
    assert wrong.status_code == 405


def test_the_front_desk_reads_none_of_it(event, ann, desk, signed_in):
    client = signed_in(desk)
    for name, pk in (("list", None), ("create", None), ("detail", event.pk),
                     ("for-patient", ann.pk)):  # fmt: skip
        address = reverse(f"adverse-event-{name}", args=[pk] if pk else [])
        assert client.get(address).status_code == 403
    assert not AuditEvent.objects.filter(action__startswith="read").exists()


def test_reading_an_event_is_in_the_audit_trail(event, ann, owner, signed_in):
    client = signed_in(owner)
    client.get(reverse("adverse-event-detail", args=[event.pk]))
    row = AuditEvent.objects.first()
    assert (row.action, row.subject_type, row.patient_id) == ("read", "adverseevent", ann.pk)
    client.get(reverse("adverse-event-for-patient", args=[ann.pk]))
    assert AuditEvent.objects.first().action == "read.adverse_events"


def test_the_same_queries_for_one_and_for_five(event, ann, injector, owner, signed_in):
    client, counts = signed_in(owner), []
    for more in (0, 4):
        for day in range(more):
            make_event(injector, ann, lot=event.lot, onset_on=date(2026, 4, 1 + day))
        client.get(reverse("adverse-event-list"))
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("adverse-event-list"))
        counts.append(len(queries))
    assert counts[0] == counts[1]
