"""The effectiveness check on the screen: draw, ask one after another, see the figure."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.recalls.models import CaseCheck, RecallCase
from records.recalls.queries.checks import checks_of
from tests.factories import make_patient, refreshed
from tests.records.recalls.cases import make_case, span


@pytest.fixture
def page(signed_in, owner):
    return signed_in(owner)


def at(name: str, case: RecallCase, **more) -> str:
    return reverse(name, kwargs={"pk": case.pk, **more})


@pytest.fixture
def drawn(page, case):
    page.post(at("recall-checks-draw", case))
    return list(checks_of(case))


def test_the_panel_offers_the_draw_and_shows_level_and_source(page, case):
    text = page.get(at("recall-checks-panel", case)).content.decode()
    assert "Level A: everyone" in text
    assert "the sample is not drawn yet" in text
    assert "Draw the sample" in text
    assert "read second-hand, not in the document itself" in text


def test_the_panel_of_a_drill_and_of_level_e_has_nothing_to_do(page, owner, drill, product):
    text = page.get(at("recall-checks-panel", drill)).content.decode()
    assert "In a drill nobody is asked" in text
    assert "Draw" not in text
    none = make_case(owner, span(product), level="E")
    text = page.get(at("recall-checks-panel", none)).content.decode()
    assert "This level asks for no check: there is nothing to do." in text


def test_the_sample_is_drawn_and_shown_with_how_to_draw_it_again(page, case):
    answer = page.post(at("recall-checks-draw", case), follow=True)
    text = answer.content.decode()
    assert "The sample is drawn: 2 of 2." in text
    assert "Ann Example" in text
    assert "R0001 FSN-14" in text
    assert text.count("To be asked</span>") == 2


def test_drawing_again_is_refused_with_the_reason(page, case, drawn):
    text = page.post(at("recall-checks-draw", case), follow=True).content.decode()
    assert "the same people would come out again" in text


def test_more_found_is_told_with_what_stays(page, case, drawn, desk, owner):
    url = at("recall-check", case, check=drawn[0].pk)
    page.post(url, {"result": "effective", "note": ""})
    case.people.create(patient=make_patient(desk, "Cy Late"), added_at=case.opened_at)
    panel = page.get(at("recall-checks-panel", case)).content.decode()
    assert "2 are drawn: more patients were found since" in panel
    text = page.post(at("recall-checks-draw", case), follow=True).content.decode()
    assert "Added to the sample: 1. The 2 drawn before stay." in text


def test_a_patient_is_asked_and_the_next_one_follows(page, case, drawn, owner):
    first, second = drawn
    url = at("recall-check", case, check=first.pk)
    assert "Patient 1 of the sample" in page.get(url).content.decode()
    answer = page.post(url, {"result": "not_effective", "note": "Was abroad"})
    assert answer.url == at("recall-check", case, check=second.pk)
    stored = refreshed(first)
    assert (stored.result, stored.note, stored.by) == ("not_effective", "Was abroad", owner)
    answer = page.post(answer.url, {"result": "effective", "note": ""})
    assert answer.url == at("recall-checks", case)
    text = page.get(answer.url).content.decode()
    assert "Does not know of it" in text
    assert "Was abroad" in text
    assert "1 did not know of it" in text


def test_opening_a_patient_of_the_sample_is_in_the_trail(page, case, drawn):
    page.get(at("recall-check", case, check=drawn[0].pk))
    patient = drawn[0].person.patient_id
    assert AuditEvent.objects.filter(action="read", patient_id=patient).exists()


def test_no_answer_chosen_is_told_on_the_field(page, case, drawn):
    answer = page.post(at("recall-check", case, check=drawn[0].pk), {"note": "Busy"})
    assert answer.status_code == 422
    assert answer.context["form"].errors == {"result": ["Say what came of it."]}
    assert answer.context["form"]["note"].value() == "Busy"
    assert not CaseCheck.objects.exclude(result="").exists()


def test_a_closed_case_shows_its_sample_and_asks_nobody(page, case, drawn, owner):
    RecallCase.objects.filter(pk=case.pk).update(
        closed_at=case.opened_at, closed_by=owner, closed_digest="x"
    )
    text = page.get(at("recall-checks", case)).content.decode()
    assert "Ann Example" in text
    assert ">Ask</a>" not in text
    answer = page.get(at("recall-check", case, check=drawn[0].pk), follow=True)
    assert "is closed and never changes." in answer.content.decode()


def test_a_check_of_another_case_is_not_found(page, case, drawn, owner, product):
    other = make_case(owner, span(product))
    url = at("recall-check", other, check=drawn[0].pk)
    assert page.get(url).status_code == 404
    assert page.get(at("recall-check", case, check=999_999)).status_code == 404
