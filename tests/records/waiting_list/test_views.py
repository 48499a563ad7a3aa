"""The pages of the waiting list, as the front desk uses them."""

import pytest
from django.urls import reverse
from django.utils import timezone

from records.waiting_list.models import FreedTime, Offer, WaitingEntry
from records.waiting_list.services.offers import accept, offer_time
from tests.factories import make_appointment, make_patient, refreshed
from tests.records.waiting_list.conftest import TUESDAY_TEN

pytestmark = pytest.mark.django_db
LIST, ADD = reverse("waiting-list"), reverse("waiting-add")
SUITS = {
    "kind": "treatment", "minutes": "", "practitioner": "", "first_on": "2027-03-01",
    "last_on": "2027-04-01", "weekdays": ["1", "3"], "part": "morning", "notice_hours": "6",
    "note": "Call the office",
}  # fmt: skip


@pytest.fixture
def client_of_desk(signed_in, desk, monday):
    return signed_in(desk)


def url(name: str, thing) -> str:
    return reverse(f"waiting-{name}", kwargs={"pk": thing.pk})


def text(answer) -> str:
    return answer.content.decode()


def said(answer) -> list[str]:
    return [str(message) for message in answer.context["messages"]]


def test_an_empty_list_says_what_it_is_for(client_of_desk):
    assert "Put a patient on the list when nothing fits" in text(client_of_desk.get(LIST))
    assert "Nobody waits for this" in text(client_of_desk.get(f"{LIST}?kind=review&practitioner=x"))


def test_a_patient_is_put_on_the_list(client_of_desk, patient):
    address = f"{ADD}?patient={patient.pk}&kind=treatment"
    page = client_of_desk.get(address)
    assert page.context["form"]["kind"].value() == "treatment"
    answer = client_of_desk.post(address, SUITS, follow=True)
    assert "Ann Example is on the waiting list." in said(answer)
    entry = WaitingEntry.objects.get()
    assert (entry.weekdays, entry.part, entry.notice_hours) == ([1, 3], "morning", 6)
    assert "Mon, Wed, mornings" in text(answer)
    assert "Call the office" in text(answer)


def test_without_a_patient_one_is_chosen_first(client_of_desk):
    assert "Who wants to wait?" in text(client_of_desk.get(f"{ADD}?patient=7&kind=nap"))


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ({"kind": "nap"}, "Select a valid choice"),
        ({"first_on": ""}, "Earliest day is required."),
        ({"last_on": "2027-02-28"}, "The latest day lies before the earliest day."),
        ({"first_on": "2027-01-01", "last_on": "2027-02-01"}, "This day has passed."),
        ({"weekdays": []}, "Choose at least one day that suits."),
        ({"weekdays": ["8"]}, "not one of the available choices"),
        ({"is_urgent": "on", "urgent_reason": " "}, "Say why it is urgent."),
        ({"notice_hours": "7"}, "Select a valid choice"),
        ({"minutes": "7"}, "Select a valid choice"),
        ({"note": "x" * 201}, "at most 200 characters"),
    ],
)
def test_bad_input_is_explained_and_the_rest_stays(client_of_desk, patient, fields, problem):
    answer = client_of_desk.post(f"{ADD}?patient={patient.pk}", SUITS | fields)
    assert answer.status_code == 422
    assert problem in text(answer)
    assert 'value="Call the office"' in text(answer) or "note" in fields
    assert not WaitingEntry.objects.exists()


def test_a_second_entry_of_the_kind_is_explained(client_of_desk, wait, patient):
    wait("", patient=patient, kind="treatment")
    answer = client_of_desk.post(f"{ADD}?patient={patient.pk}", SUITS)
    assert answer.status_code == 422
    assert "The patient waits for this already (treatment)." in text(answer)


def test_what_suits_is_changed(client_of_desk, wait):
    entry = wait("First", minutes=25, notice_hours=5)
    page = client_of_desk.get(url("edit", entry))
    assert "25 min" in text(page)
    assert "5 hours" in text(page)
    form = page.context["form"]
    values = {name: form[name].value() for name in form.fields}
    values = {name: value for name, value in values.items() if value not in (None, False)}
    assert client_of_desk.post(url("edit", entry), values | {"note": "New"}).status_code == 302
    assert (refreshed(entry).minutes, refreshed(entry).note) == (25, "New")


def test_who_is_taken_off_needs_a_reason(client_of_desk, wait):
    entry = wait("First")
    answer = client_of_desk.post(url("remove", entry), {"reason": ""})
    assert (answer.status_code, refreshed(entry).is_standing) == (422, True)
    assert "Say: why the patient is taken off." in text(answer)
    client_of_desk.post(url("remove", entry), {"reason": "Moved away"})
    assert refreshed(entry).reason == "Moved away"
    assert client_of_desk.get(url("remove", entry)).status_code == 404


def test_after_cancelling_the_desk_is_told_who_waits(client_of_desk, wait, desk, injector):
    appointment = make_appointment(desk, make_patient(desk, "Cancels"), injector, TUESDAY_TEN)
    wait("First", days=2)
    wait("Second")
    cancel = reverse("appointment-cancel", kwargs={"pk": appointment.pk})
    answer = client_of_desk.post(cancel, {"reason": "Ill"}, follow=True)
    link = url("time", FreedTime.objects.get())
    assert any("2 people wait for this time." in one and link in one for one in said(answer))
    assert "2 people wait" in text(client_of_desk.get(LIST))


def test_an_offer_is_made_and_taken_with_two_presses(client_of_desk, wait, freed):
    wait("First", days=2)
    wait("Second")
    page = text(client_of_desk.get(url("time", freed)))
    assert page.index("First") < page.index("Second")
    answer = client_of_desk.post(url("time-offer", freed), follow=True)
    offer = Offer.objects.get()
    [words] = said(answer)
    assert "<bdi>First</bdi> until Monday 11:00. Tell them, and note the answer here." in words
    assert f'action="{url("offer-withdraw", offer)}"' in words
    assert "Mon 1 Mar, 11:00" in text(answer)
    answer = client_of_desk.post(url("offer-accept", offer), follow=True)
    assert "Booked for First: Tuesday 2 March at 10:00 with Ida Injector." in said(answer)
    assert "Accepted" in text(client_of_desk.get(url("time", freed)))
    answer = client_of_desk.post(url("offer-decline", offer), follow=True)
    assert "This offer was answered before: accepted." in said(answer)


def test_an_offer_made_by_mistake_is_taken_back_by_the_button_of_its_message(
    client_of_desk, wait, freed
):
    wait("First")
    client_of_desk.post(url("time-offer", freed))
    offer = Offer.objects.get()
    undo = {"reason": "Offered by mistake", "next": LIST}
    assert client_of_desk.post(url("offer-withdraw", offer), undo).url == LIST
    assert Offer.objects.get().answer == "withdrawn"
    assert "1 person waits" in text(client_of_desk.get(LIST))


def test_the_desk_is_reminded_of_what_the_patient_has_besides(
    client_of_desk, wait, desk, injector, patient, freed
):
    make_appointment(desk, patient, injector, "2027-04-06 10:00")
    wait("", patient=patient)
    offer = offer_time(freed=freed, actor=desk)
    [words] = said(client_of_desk.post(url("offer-accept", offer), follow=True))
    assert "They also have one on 6 April at 10:00: cancel it if it is no longer needed." in words


def test_declining_says_who_is_next(client_of_desk, wait, desk, freed):
    wait("First", days=2)
    wait("Second")
    offer = offer_time(freed=freed, actor=desk)
    answer = client_of_desk.post(url("offer-decline", offer), follow=True)
    assert "Noted. The time is now offered to Second." in said(answer)
    second = Offer.objects.open().get()
    assert "offered as the next in order: tell them" in text(answer)
    answer = client_of_desk.post(url("offer-withdraw", second), {"reason": ""})
    assert answer.status_code == 422
    answer = client_of_desk.post(url("offer-withdraw", second), {"reason": "Ill"}, follow=True)
    assert "The offer is taken back, and the time is free." in said(answer)
    answer = client_of_desk.post(url("offer-withdraw", second), {"reason": "Again"})
    assert "This offer was answered before: taken back." in text(answer)


def test_a_certain_one_is_offered_it_or_the_page_says_why_not(client_of_desk, wait, freed):
    wait("First", days=2)
    second = wait("Second")
    for entry, words in [("x", "no longer on the waiting list"), ("0", "no longer on the")]:
        answer = client_of_desk.post(url("time-offer", freed), {"entry": entry}, follow=True)
        assert any(words in one for one in said(answer))
    client_of_desk.post(url("time-offer", freed), {"entry": second.pk})
    assert Offer.objects.get().entry == second
    answer = client_of_desk.post(url("time-offer", freed), {"entry": second.pk}, follow=True)
    assert "Nobody on the waiting list fits this time any more." in said(answer)


def test_a_time_is_left_free(client_of_desk, wait, freed):
    wait("First")
    client_of_desk.post(url("time-leave", freed))
    assert "Came free" not in text(client_of_desk.get(LIST))
    assert "offered to nobody by itself" in text(client_of_desk.get(url("time", freed)))


def test_the_next_time_is_looked_up_for_one(client_of_desk, wait, injector):
    entry = wait("First")
    page = text(client_of_desk.get(url("next-time", entry)))
    assert "Mon 1 Mar, 09:00" in page
    asked = f"patient={entry.patient_id}&amp;kind=consultation&amp;practitioner={injector.pk}"
    assert asked in page
    injector.is_active = False
    injector.save()
    assert "none in 90 days" in text(client_of_desk.get(url("next-time", entry)))


def test_the_patients_page_shows_what_they_wait_for(client_of_desk, wait, desk, freed):
    entry = wait("First", is_urgent=True, urgent_reason="Wedding")
    address = url("for-patient", entry.patient)
    assert "Wedding" in text(client_of_desk.get(address))
    offer = offer_time(freed=freed, actor=desk)
    assert "Takes it" in text(client_of_desk.get(address))
    accept(offer, actor=desk)
    page = text(client_of_desk.get(address))
    assert "Takes it" not in page
    assert "Waits on all the same" in page
    client_of_desk.post(url("reopen", entry))
    assert refreshed(entry).is_standing


def test_the_list_takes_as_many_queries_for_one_as_for_three(
    client_of_desk, wait, django_assert_num_queries, django_assert_max_num_queries
):
    wait("One")
    with django_assert_max_num_queries(40) as one:
        client_of_desk.get(LIST)
    wait("Two")
    wait("Three", is_urgent=True, urgent_reason="Wedding")
    with django_assert_num_queries(len(one)):
        assert len(client_of_desk.get(LIST).context["rows"]) == 3


def test_a_long_list_has_pages(client_of_desk, wait, monkeypatch):
    monkeypatch.setattr("records.waiting_list.views.entries.PAGE_SIZE", 1)
    wait("First", days=2)
    wait("Second")
    assert "Second" in text(client_of_desk.get(f"{LIST}?page=2"))
    assert timezone.localdate().year == 2027
