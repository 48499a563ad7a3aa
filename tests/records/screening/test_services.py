"""Asking, answering, checking: what is kept, and what it does to the patient's alerts."""

import pytest

from clinic.audit.models import AuditEvent
from planning.screening import Given, Said
from records.patients.enums import AlertKind, AlertLevel
from records.patients.models import Alert
from records.patients.services import add_alert, end_alert
from records.screening.enums import CheckKind, Way
from records.screening.errors import FormClosed, NothingToConfirm, QuestionsWrong, RuleTaken
from records.screening.models import HistoryForm, Questionnaire, RaisedAlert, ScreeningRule
from records.screening.services.histories import (
    begin_history,
    check_history,
    confirm_unchanged,
    send_history,
)
from records.screening.services.questionnaires import (
    NewQuestion,
    change_questions,
    save_rule,
    take_up_supplied,
)
from records.screening.supplied import QUESTIONS, RULES
from tests.factories import refreshed
from tests.records.screening.histories import NO, UNSURE, YES, answers, make_history

ASKED = NewQuestion("smoking", "Habits", "Do you smoke?", "", "yes_no")


def texts(patient) -> list[str]:
    return [alert.text for alert in patient.alerts.current()]


def test_a_new_clinic_has_a_rule_for_all_it_must_ask_about(db):
    take_up_supplied()
    take_up_supplied()
    assert Questionnaire.objects.get().questions.count() == len(QUESTIONS)
    codes = {rule.question_code for rule in ScreeningRule.objects.all()}
    # The list of the record-keeping checklist (R4) and of what the clinic asked for.
    assert codes == {
        "pregnancy", "nerve-muscle", "blood-thinner", "autoimmune", "infection", "cold-sores",
        "other-filler", "occlusion", "looks", "lidocaine", "hyaluronidase", "stings", "keloid",
        "dental", "vaccine", "isotretinoin", "medicines", "other-allergy",
    }  # fmt: skip
    assert ScreeningRule.objects.count() == len(RULES)
    assert all(rule.source_text for rule in ScreeningRule.objects.all())


def test_a_yes_raises_the_alert_of_its_rule_and_keeps_where_it_comes_from(injector, patient):
    form = make_history(injector, patient, blood_thinner=Given(Said.YES, "Aspirin,  daily"))
    alert = Alert.objects.get()
    assert (alert.level, alert.kind) == (AlertLevel.CAUTION, AlertKind.MEDICAL)
    assert alert.text == "Thinned blood or bleeds easily: bruising: Aspirin, daily"
    raised = RaisedAlert.objects.get()
    assert (raised.answer.form, raised.source) == (form, "common practice, no source")


def test_whoever_is_not_sure_is_treated_as_if_it_were_so(injector, patient):
    make_history(injector, patient, lidocaine=UNSURE)
    assert texts(patient) == ["Local anaesthetic: many fillers hold lidocaine: Not sure"]


def test_the_same_said_again_raises_no_second_alert(injector, patient):
    first = make_history(injector, patient, keloid=YES)
    make_history(injector, patient, keloid=YES)
    assert Alert.objects.count() == 1
    assert RaisedAlert.objects.get().answer.form == first


def test_a_later_form_that_says_otherwise_ends_the_alert_with_a_reason(injector, patient):
    make_history(injector, patient, pregnancy=YES)
    make_history(injector, patient, pregnancy=NO)
    alert = Alert.objects.get()
    assert alert.ended_by == injector
    assert "says otherwise: no." in alert.end_reason


def test_other_words_replace_the_alert(injector, patient):
    make_history(injector, patient, stings=Given(Said.YES, "Bee"))
    make_history(injector, patient, stings=Given(Said.YES, "Wasp"))
    assert texts(patient) == ["Bee or wasp stings: may react to hyaluronidase: Wasp"]


def test_what_was_not_asked_this_time_stays(injector, owner, patient):
    make_history(injector, patient, keloid=YES)
    change_questions(intro="", questions=[ASKED], actor=owner)
    make_history(injector, patient)
    assert texts(patient) == ["Scars grow thick (keloid)"]


def test_alerts_typed_by_people_are_left_alone(injector, patient):
    add_alert(patient=patient, kind="allergy", level="note", text="Plasters", actor=injector)
    make_history(injector, patient)
    assert texts(patient) == ["Plasters"]


def test_an_alert_ended_by_hand_comes_back_when_it_is_said_again(injector, patient):
    make_history(injector, patient, keloid=YES)
    end_alert(alert=Alert.objects.get(), reason="Looked at it", actor=injector)
    make_history(injector, patient, keloid=YES)
    assert texts(patient) == ["Scars grow thick (keloid)"]


def test_a_rule_out_of_use_raises_nothing(injector, owner, patient):
    take_up_supplied()
    rule = ScreeningRule.objects.get(question_code="keloid")
    rule.is_active = False
    save_rule(rule=rule, actor=owner)
    make_history(injector, patient, keloid=YES)
    assert texts(patient) == []


def test_a_very_long_answer_is_cut_in_the_alert_and_kept_in_the_answer(injector, patient):
    form = make_history(injector, patient, infection=Given(Said.YES, "x" * 1000))
    assert len(Alert.objects.get().text) == 300
    assert form.answers.get(question__code="infection").detail == "x" * 1000


def test_a_form_is_sent_once(injector, patient):
    form = make_history(injector, patient)
    with pytest.raises(FormClosed, match="sent already"):
        send_history(form=form, answers=answers(form.questionnaire), actor=injector)


def test_another_form_takes_the_place_of_one_that_waits(injector, patient):
    first = begin_history(patient=patient, way=Way.TABLET, actor=injector)
    begin_history(patient=patient, way=Way.STAFF, actor=injector)
    assert refreshed(first).withdrawn_at is not None
    with pytest.raises(FormClosed):
        send_history(form=first, answers=answers(first.questionnaire), actor=injector)


def test_it_is_read_by_an_injector_with_a_note(injector, patient):
    form = make_history(injector, patient)
    check = check_history(form=form, note=" Talked it over. ", actor=injector)
    assert (check.kind, check.note, check.by) == (CheckKind.READ, "Talked it over.", injector)


def test_an_unanswered_form_cannot_be_checked(injector, patient):
    form = begin_history(patient=patient, way=Way.STAFF, actor=injector)
    with pytest.raises(NothingToConfirm, match="not answered"):
        check_history(form=form, actor=injector)


def test_nothing_changed_is_said_of_the_latest_and_ends_what_waits(injector, desk, patient):
    form = make_history(injector, patient)
    waiting = begin_history(patient=patient, way=Way.TABLET, actor=desk)
    check = confirm_unchanged(patient=patient, kind=CheckKind.UNCHANGED_STAFF, actor=desk)
    assert check.form == form
    assert refreshed(waiting).withdrawn_at is not None


def test_nothing_changed_needs_a_history(desk, patient):
    with pytest.raises(NothingToConfirm, match="No medical history"):
        confirm_unchanged(patient=patient, kind=CheckKind.UNCHANGED_STAFF, actor=desk)


def test_nothing_changed_is_not_enough_for_other_questions(injector, owner, patient):
    make_history(injector, patient)
    change_questions(intro="", questions=[ASKED], actor=owner)
    with pytest.raises(NothingToConfirm, match="other questions"):
        confirm_unchanged(patient=patient, kind=CheckKind.UNCHANGED_STAFF, actor=injector)


def test_a_change_of_the_questions_is_another_version(injector, owner, patient):
    form = make_history(injector, patient)
    made = change_questions(intro="Hello", questions=[ASKED], actor=owner)
    assert (made.version, made.made_by) == (2, owner)
    assert Questionnaire.objects.get(is_in_use=True) == made
    assert HistoryForm.objects.get(pk=form.pk).questionnaire.version == 1


def test_the_same_questions_again_change_nothing(owner):
    made = change_questions(intro="Hello", questions=[ASKED], actor=owner)
    assert change_questions(intro="Hello", questions=[ASKED], actor=owner) == made


@pytest.mark.parametrize("questions", [[], [ASKED, ASKED]])
def test_a_questionnaire_asks_something_and_nothing_twice(owner, questions):
    with pytest.raises(QuestionsWrong):
        change_questions(intro="", questions=questions, actor=owner)


def test_an_answer_has_one_rule(owner):
    take_up_supplied()
    with pytest.raises(RuleTaken, match="already"):
        save_rule(
            rule=ScreeningRule(
                question_code="keloid", answer="yes", level="stop", kind="medical",
                alert_text="Another", backing="clinic_policy",
            ),
            actor=owner,
        )  # fmt: skip


def test_the_trail_tells_who_asked_and_who_answered(injector, patient):
    make_history(injector, patient, keloid=YES)
    acts = list(
        AuditEvent.objects.filter(patient_id=patient.pk, action__startswith="history")
        .order_by("id").values_list("action", "actor__username")
    )  # fmt: skip
    assert acts == [("history.begun", "injector"), ("history.answered", "injector")]
