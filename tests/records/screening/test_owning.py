"""The practice owner's questions and rules."""

from django.urls import reverse

from records.screening.models import Questionnaire, ScreeningRule
from records.screening.queries import questionnaire_in_use
from records.screening.services.questionnaires import (
    NewQuestion,
    change_questions,
    take_up_supplied,
)
from tests.sent_forms import sent_of

EDIT = "/screening/questions/edit/"


def sent(client) -> dict:
    return {
        name: value
        for name, value in sent_of(client.get(EDIT).content.decode()).items()
        if name != "csrfmiddlewaretoken"
    }


def test_a_new_clinic_takes_up_the_supplied_questions(signed_in, owner):
    client = signed_in(owner)
    assert "No questions yet" in client.get("/screening/questions/").content.decode()
    client.post("/screening/questions/supplied/")
    text = client.get("/screening/questions/").content.decode()
    assert "illness of nerves and muscles" in text
    assert "ACE Group guideline on filler complications (PMC5300719)" in text
    assert "from memory, not checked" in text


def test_pages_that_need_questions_offer_the_supplied_ones(signed_in, owner):
    client = signed_in(owner)
    for path in (EDIT, "/screening/rules/new/"):
        assert "Take up the supplied questions" in client.get(path).content.decode()


def test_a_question_is_changed_moved_and_added(signed_in, owner):
    take_up_supplied()
    client = signed_in(owner)
    data = sent(client)
    last = int(data["questions-TOTAL_FORMS"]) - 1
    data["questions-0-words"] = "Are you pregnant?"
    data["questions-0-place"] = "900"
    data["questions-1-DELETE"] = "on"
    data |= {
        f"questions-{last}-section": "Habits",
        f"questions-{last}-words": "Do you smoke?",
        f"questions-{last}-kind": "yes_no",
    }
    assert client.post(EDIT, data)["Location"] == "/screening/questions/"
    questions = list(questionnaire_in_use().questions.values_list("code", "words"))
    assert questions[-2:] == [("pregnancy", "Are you pregnant?"), ("do-you-smoke", "Do you smoke?")]
    assert "infection" not in dict(questions)
    assert Questionnaire.objects.count() == 2


def test_saving_without_a_change_makes_no_version(signed_in, owner):
    take_up_supplied()
    client = signed_in(owner)
    client.post(EDIT, sent(client))
    assert Questionnaire.objects.count() == 1


def test_an_empty_question_is_refused_at_its_field(signed_in, owner):
    take_up_supplied()
    client = signed_in(owner)
    answer = client.post(EDIT, sent(client) | {"questions-3-words": "", "intro": "Kept"})
    text = answer.content.decode()
    assert (answer.status_code, "Type the question." in text, "Kept" in text) == (422, True, True)


def test_a_version_that_came_in_between_is_told(signed_in, owner):
    take_up_supplied()
    client = signed_in(owner)
    data = sent(client)
    change_questions(
        intro="", questions=[NewQuestion("smoking", "Habits", "Do you?", "", "yes_no")], actor=owner
    )
    answer = client.post(EDIT, data)
    assert "version 2 in use while the page was open" in answer.content.decode()
    again = data | {"version": "2"}
    assert client.post(EDIT, again)["Location"] == "/screening/questions/"


def test_a_broken_count_of_questions_is_no_server_error(signed_in, owner):
    take_up_supplied()
    client = signed_in(owner)
    for count in ("", "-1", "999999"):
        answer = client.post(EDIT, sent(client) | {"questions-TOTAL_FORMS": count})
        assert answer.status_code == 422


def rule(**fields) -> dict:
    return {
        "question_code": "keloid", "answer": "no", "level": "note", "kind": "medical",
        "alert_text": "Scars well", "backing": "clinic_policy", "source": "", "is_active": "on",
    } | fields  # fmt: skip


def test_the_clinic_adds_a_rule_of_its_own(signed_in, owner):
    take_up_supplied()
    answer = signed_in(owner).post("/screening/rules/new/", rule())
    assert answer["Location"] == "/screening/questions/"
    assert ScreeningRule.objects.get(alert_text="Scars well").source_text == "clinic policy"


def test_a_second_rule_for_an_answer_is_refused(signed_in, owner):
    take_up_supplied()
    answer = signed_in(owner).post("/screening/rules/new/", rule(answer="yes"))
    assert "This answer has a rule already." in answer.content.decode()


def test_a_rule_without_its_answer_says_what_to_choose(signed_in, owner):
    take_up_supplied()
    sent = signed_in(owner).post("/screening/rules/new/", rule(answer=""))
    assert "Choose the answer that raises it." in sent.content.decode()


def test_a_rule_waits_for_an_answer_that_can_come(signed_in, owner):
    take_up_supplied()
    client = signed_in(owner)
    written = client.post("/screening/rules/new/", rule(answer="written")).content.decode()
    assert "answered by yes or no" in written
    chosen = rule(question_code="medicines", answer="yes")
    assert "answered in words" in client.post("/screening/rules/new/", chosen).content.decode()


def test_a_published_rule_names_its_publication(signed_in, owner):
    take_up_supplied()
    answer = signed_in(owner).post("/screening/rules/new/", rule(backing="published"))
    assert "Name the publication: authors or title, year." in answer.content.decode()


def test_a_rule_is_changed_and_taken_out_of_use(signed_in, owner):
    take_up_supplied()
    stored = ScreeningRule.objects.get(question_code="dental")
    page = reverse("screening-rule-edit", kwargs={"pk": stored.pk})
    data = rule(question_code="dental", answer="yes", level="stop", alert_text="Dentist")
    del data["is_active"]
    assert signed_in(owner).post(page, data).status_code == 302
    stored.refresh_from_db()
    assert (stored.level, stored.alert_text, stored.is_active) == ("stop", "Dentist", False)


def test_a_rule_for_a_question_no_longer_asked_can_still_be_changed(signed_in, owner):
    take_up_supplied()
    change_questions(
        intro="", questions=[NewQuestion("smoking", "Habits", "Do you?", "", "yes_no")], actor=owner
    )
    client = signed_in(owner)
    stored = ScreeningRule.objects.get(question_code="dental")
    assert "no longer asked" in client.get("/screening/questions/").content.decode()
    page = client.get(reverse("screening-rule-edit", kwargs={"pk": stored.pk})).content.decode()
    assert "No longer asked: dental" in page
