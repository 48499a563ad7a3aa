"""The pages of a medical history: in the patient's hands, read out, read by the injector."""

import pytest
from django.urls import reverse

from planning.screening import Given, Said
from records.screening.enums import CheckKind, Way
from records.screening.models import HistoryCheck, HistoryForm
from records.screening.services.histories import begin_history
from records.screening.services.questionnaires import NewQuestion, change_questions
from tests.factories import PASSWORD
from tests.records.screening.histories import NO, YES, make_history, typed


def page(client, name: str, pk: int) -> str:
    return client.get(reverse(name, kwargs={"pk": pk})).content.decode()


def press(client, name: str, pk: int, data: dict | None = None):
    return client.post(reverse(name, kwargs={"pk": pk}), data or {})


@pytest.fixture
def read_out(injector, patient):
    return begin_history(patient=patient, way=Way.STAFF, actor=injector)


@pytest.fixture
def tablet(signed_in, injector, patient):
    """A tablet that the injector handed over, and its form."""
    client = signed_in(injector)
    press(client, "screening-begin-tablet", patient.pk)
    return client, HistoryForm.objects.waiting().get()


def test_the_panel_offers_the_ways_to_ask(signed_in, injector, patient):
    text = page(signed_in(injector), "screening-for-patient", patient.pk)
    assert "Not asked yet." in text
    for act in ("Hand over tablet", "Make a link", "Read out"):
        assert act in text


def test_the_front_desk_sees_how_it_stands_and_no_answer(signed_in, injector, desk, patient):
    form = make_history(injector, patient, looks=Given(Said.YES, "My nose"))
    detail = reverse("screening-detail", kwargs={"pk": form.pk})
    text = page(signed_in(desk), "screening-for-patient", patient.pk)
    assert "Read by no injector yet." in text
    assert detail not in text
    assert detail in page(signed_in(injector), "screening-for-patient", patient.pk)


@pytest.mark.parametrize(
    "told", [{"looks": Given(Said.YES, "My nose")}, {"lidocaine": Given(Said.YES, "My nose")}]
)
def test_what_an_answer_raised_is_told_to_the_front_desk_without_its_words(
    signed_in, injector, desk, patient, told
):
    # What the page promises the patient above the questions: only those who treat read the answers.
    make_history(injector, patient, **told)
    assert "My nose" in page(signed_in(injector), "patient-detail", patient.pk)
    client = signed_in(desk)
    for name in ("patient-detail", "patient-edit", "alert-add"):
        text = page(client, name, patient.pk)
        assert "From the medical history: tell the injector" in text
        assert "My nose" not in text
    alert = patient.alerts.get()
    assert alert.text not in page(client, "patient-detail", patient.pk)
    assert "Allergies not asked yet" not in page(client, "patient-detail", patient.pk)


def test_the_front_desk_does_not_end_what_an_answer_raised(signed_in, injector, desk, patient):
    make_history(injector, patient, looks=YES)
    alert = patient.alerts.get()
    client = signed_in(desk)
    assert client.get(reverse("alert-end", kwargs={"pk": alert.pk})).status_code == 403
    assert press(client, "alert-end", alert.pk, {"reason": "Not so"}).status_code == 403
    assert patient.alerts.current().exists()


def test_an_answer_taken_back_is_not_told_to_the_front_desk_afterwards(
    signed_in, injector, desk, patient
):
    make_history(injector, patient, looks=Given(Said.YES, "My nose"))
    make_history(injector, patient)
    assert "My nose" not in page(signed_in(desk), "patient-detail", patient.pk)
    assert "says otherwise" not in page(signed_in(desk), "patient-detail", patient.pk)


def test_read_out_and_kept(signed_in, injector, read_out):
    client = signed_in(injector)
    data = typed(read_out.questionnaire, lidocaine="yes") | {"detail-lidocaine": "Fainted"}
    answer = press(client, "screening-read-out", read_out.pk, data)
    assert answer["Location"] == reverse("screening-detail", kwargs={"pk": read_out.pk})
    text = client.get(answer["Location"]).content.decode()
    assert "Local anaesthetic: many fillers hold lidocaine: Fainted" in text
    assert "Source: Filler instructions for use (from memory, not checked)" in text


def test_what_is_missing_is_said_at_the_question_and_nothing_is_lost(signed_in, injector, read_out):
    data = typed(read_out.questionnaire, stings="yes") | {"detail-stings": "Swelling"}
    del data["said-keloid"]
    answer = press(signed_in(injector), "screening-read-out", read_out.pk, data)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert text.count("Please answer this one.") == 1
    assert 'href="#div_id_said-keloid"' in text
    assert 'id="div_id_said-keloid"' in text
    assert "Swelling" in text


def test_a_choice_nobody_offered_is_refused(signed_in, injector, read_out):
    data = typed(read_out.questionnaire, keloid="perhaps")
    answer = press(signed_in(injector), "screening-read-out", read_out.pk, data)
    assert "Please choose yes, no or not sure." in answer.content.decode()


def test_words_to_a_no_are_not_kept(signed_in, injector, read_out):
    data = typed(read_out.questionnaire) | {"detail-stings": "Typed, then said no"}
    press(signed_in(injector), "screening-read-out", read_out.pk, data)
    assert read_out.answers.get(question__code="stings").detail == ""


def test_a_form_that_was_sent_says_so(signed_in, injector, patient):
    form = make_history(injector, patient)
    client = signed_in(injector)
    assert "sent already" in page(client, "screening-read-out", form.pk)
    answer = press(client, "screening-read-out", form.pk, typed(form.questionnaire))
    assert (answer.status_code, "sent already" in answer.content.decode()) == (422, True)


def test_what_changed_since_last_time_is_marked(signed_in, injector, patient):
    make_history(injector, patient, stings=NO)
    form = make_history(injector, patient, stings=Given(Said.YES, "Wasp"))
    text = page(signed_in(injector), "screening-detail", form.pk)
    assert "1 changed since" in text
    assert "before: no" in text


def test_a_first_history_has_nothing_to_compare(signed_in, injector, patient):
    text = page(signed_in(injector), "screening-detail", make_history(injector, patient).pk)
    assert "changed since" not in text
    assert "Not asked before" not in text


def test_the_injector_notes_the_reading(signed_in, injector, patient):
    form = make_history(injector, patient)
    client = signed_in(injector)
    press(client, "screening-check", form.pk, {"note": "Stopped aspirin"})
    assert HistoryCheck.objects.get().note == "Stopped aspirin"
    assert "Stopped aspirin" in page(client, "screening-detail", form.pk)


def test_a_note_too_long_is_refused_and_kept_on_the_page(signed_in, injector, patient):
    form = make_history(injector, patient)
    answer = press(signed_in(injector), "screening-check", form.pk, {"note": "x" * 301})
    assert (answer.status_code, "x" * 301 in answer.content.decode()) == (422, True)


def test_nothing_changed_is_one_press_of_the_desk(signed_in, injector, desk, patient):
    make_history(injector, patient)
    client = signed_in(desk)
    assert "Nothing changed" in page(client, "screening-for-patient", patient.pk)
    press(client, "screening-unchanged", patient.pk)
    assert HistoryCheck.objects.get().kind == CheckKind.UNCHANGED_STAFF


def test_nothing_changed_without_a_history_is_refused(signed_in, desk, patient):
    client = signed_in(desk)
    answer = client.post(reverse("screening-unchanged", kwargs={"pk": patient.pk}), follow=True)
    assert "No medical history was given yet." in answer.content.decode()


def test_a_tablet_handed_over_shows_the_questions_and_nothing_else(tablet, patient):
    client, form = tablet
    text = page(client, "screening-fill", form.pk)
    assert "Your medical history" in text
    assert patient.full_name not in text
    assert patient.record_number not in text
    fill = reverse("screening-fill", kwargs={"pk": form.pk})
    for path in ("/", "/patients/", f"/patients/{patient.pk}/", "/charting/", "/staff/password/"):
        assert client.get(path)["Location"] == fill


def test_after_sending_only_the_password_opens_the_clinic(tablet, patient):
    client, form = tablet
    press(client, "screening-fill", form.pk, typed(form.questionnaire, keloid="yes"))
    back = reverse("tablet-take-back")
    assert client.get("/patients/")["Location"] == back
    assert client.get(reverse("screening-fill", kwargs={"pk": form.pk}))["Location"] == back
    assert "Small and capital letters" in client.post(back, {"password": "wrong"}).content.decode()
    opened = client.post(back, {"password": PASSWORD}).content.decode()
    assert f'href="/patients/{patient.pk}/"' in opened
    assert client.get(f"/patients/{patient.pk}/").status_code == 200


def test_on_the_tablet_the_answers_before_stand_ready(signed_in, injector, patient):
    make_history(injector, patient, stings=Given(Said.YES, "Wasp, 2019"))
    client = signed_in(injector)
    press(client, "screening-begin-tablet", patient.pk)
    text = page(client, "screening-fill", HistoryForm.objects.waiting().get().pk)
    assert "Wasp, 2019" in text
    assert "Nothing has changed" in text


def test_the_patient_says_by_one_touch_that_nothing_changed(signed_in, injector, patient):
    make_history(injector, patient)
    client = signed_in(injector)
    press(client, "screening-begin-tablet", patient.pk)
    form = HistoryForm.objects.waiting().get()
    answer = press(client, "screening-unchanged-on-tablet", form.pk)
    assert answer["Location"] == reverse("tablet-take-back")
    assert HistoryCheck.objects.get().kind == CheckKind.UNCHANGED_PATIENT


def test_the_front_desk_hands_over_a_tablet_without_earlier_answers(
    signed_in, injector, desk, patient
):
    make_history(injector, patient, stings=Given(Said.YES, "Wasp, 2019"))
    client = signed_in(desk)
    press(client, "screening-begin-tablet", patient.pk)
    text = page(client, "screening-fill", HistoryForm.objects.waiting().get().pk)
    assert "Your medical history" in text
    assert "Wasp, 2019" not in text
    assert "Nothing has changed" not in text


def test_other_questions_are_to_be_answered_anew(signed_in, injector, owner, patient):
    make_history(injector, patient)
    change_questions(
        intro="", questions=[NewQuestion("smoking", "Habits", "Do you?", "", "yes_no")], actor=owner
    )
    client = signed_in(injector)
    press(client, "screening-begin-tablet", patient.pk)
    form = HistoryForm.objects.waiting().get()
    assert "Nothing has changed" not in page(client, "screening-fill", form.pk)
    press(client, "screening-unchanged-on-tablet", form.pk)
    assert "other questions by now" in page(client, "screening-fill", form.pk)


def test_a_tablet_form_opens_on_a_tablet_that_was_handed_over_alone(signed_in, injector, patient):
    form = begin_history(patient=patient, way=Way.TABLET, actor=injector)
    client = signed_in(injector)
    record = reverse("patient-detail", kwargs={"pk": patient.pk})
    assert client.get(reverse("screening-fill", kwargs={"pk": form.pk}))["Location"] == record
    assert press(client, "screening-unchanged-on-tablet", form.pk)["Location"] == record


@pytest.mark.parametrize("name", ["screening-detail", "screening-fill", "screening-read-out"])
def test_what_is_not_there_is_not_found(signed_in, injector, name):
    assert signed_in(injector).get(reverse(name, kwargs={"pk": 4711})).status_code == 404


def test_long_and_right_to_left_words_are_shown_as_typed(signed_in, injector, patient):
    form = make_history(injector, patient, stings=Given(Said.YES, "نحلة <b>" + "y" * 900))
    text = page(signed_in(injector), "screening-detail", form.pk)
    assert "<bdi>نحلة &lt;b&gt;" in text


def test_questions_are_not_asked_one_by_one_of_the_database(
    signed_in, injector, patient, django_assert_max_num_queries
):
    form = make_history(injector, patient, keloid=YES, stings=YES, dental=YES)
    client = signed_in(injector)
    with django_assert_max_num_queries(30):
        page(client, "screening-detail", form.pk)
