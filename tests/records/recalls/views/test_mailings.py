"""The panel of a case's mailings, and starting one."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from records.mailings.models import Mailing, MailTemplate
from records.recalls.models import RecallCase
from tests.factories import make_template
from tests.records.recalls.cases import make_case, span

CHOICE = {"channel": "letter", "whom": "not_reached"}


@pytest.fixture
def page(signed_in, owner):
    return signed_in(owner)


@pytest.fixture
def reachable(treated):
    ClinicPolicy.objects.create(name="Larkstone Face Clinic", email="hello@larkstone.example")
    treated[0].address = "1 Sample Street"
    treated[0].save()
    return treated


@pytest.fixture
def template(db) -> MailTemplate:
    return make_template("Recall letter", body="Dear {name}, lot {lot}.")


def at(name: str, case: RecallCase) -> str:
    return reverse(name, kwargs={"pk": case.pk})


def test_the_panel_says_what_can_be_done(page, case):
    text = page.get(at("recall-mailings", case)).content.decode()
    assert "Write to people" in text
    assert "None yet." in text


def test_the_panel_of_a_drill_offers_a_rehearsal(page, drill):
    text = page.get(at("recall-mailings", drill)).content.decode()
    assert "Rehearse a mailing" in text
    assert "DRILL across each page" in text


def test_the_form_offers_templates_that_a_recall_can_fill(page, case, template):
    make_template("Old", is_active=False)
    make_template("Strange", body="Dear {godfather}")
    form = page.get(at("recall-mailing-start", case)).context["form"]
    assert list(form.fields["template"].queryset) == [template]


def test_a_mailing_is_started_and_stands_on_its_page(page, case, reachable, template):
    answer = page.post(at("recall-mailing-start", case), CHOICE | {"template": template.pk})
    mailing = Mailing.objects.get()
    assert answer.url == reverse("mailing-detail", kwargs={"pk": mailing.pk})
    text = page.get(at("recall-mailings", case)).content.decode()
    assert "0 of 1" in text
    assert "1 without address" in text
    assert "Not finished" in text
    assert f'href="/recalls/{case.pk}/"' in page.get(answer.url).content.decode()


def test_an_unfinished_mailing_is_pointed_out_before_another_one(page, case, reachable, template):
    page.post(at("recall-mailing-start", case), CHOICE | {"template": template.pk})
    text = page.get(at("recall-mailing-start", case)).content.decode()
    assert "A mailing of this case is not finished" in text


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"template": ""}, "template", "Choose what is written."),
        ({"channel": "pigeon"}, "channel", "Select a valid choice"),
        ({"whom": "everybody"}, "whom", "Select a valid choice"),
    ],
)
def test_a_mistake_is_told_on_its_field(page, case, reachable, template, typed, field, message):
    sent = CHOICE | {"template": template.pk} | typed
    answer = page.post(at("recall-mailing-start", case), sent)
    assert answer.status_code == 422
    assert answer.context["form"].errors[field][0].startswith(message)
    assert not Mailing.objects.exists()


def test_e_mails_without_a_sender_are_refused_on_the_field(page, case, reachable, template):
    ClinicPolicy.objects.update(email="")
    sent = CHOICE | {"template": template.pk, "channel": "email"}
    answer = page.post(at("recall-mailing-start", case), sent)
    assert "Enter one under Policy" in answer.context["form"].errors["channel"][0]


def test_nobody_to_write_to_is_told(page, owner, product, template):
    case = make_case(owner, span(product, "NEVER"))
    answer = page.post(at("recall-mailing-start", case), CHOICE | {"template": template.pk})
    assert answer.context["form"].non_field_errors() == [
        "Nobody is on the list, so there is nothing to write."
    ]


def test_the_preview_shows_the_first_one_s_copy_and_who_is_left_out(
    page, owner, case, reachable, template
):
    url = at("recall-mailing-preview", case)
    text = page.post(url, CHOICE | {"template": template.pk}).content.decode()
    assert "<strong>2 patients</strong>, 1 without an address for it" in text
    assert "Dear Ann Example, lot LOT42." in text
    read = AuditEvent.objects.get(action="read", patient_id=reachable[0].pk)
    assert read.actor == owner


def test_the_preview_waits_for_a_template_and_knows_when_nobody_is_left(
    page, owner, product, case, template
):
    assert "Choose a template" in page.post(at("recall-mailing-preview", case)).content.decode()
    empty = make_case(owner, span(product, "NEVER"))
    sent = CHOICE | {"template": template.pk}
    text = page.post(at("recall-mailing-preview", empty), sent).content.decode()
    assert "Nobody is left to write to." in text


def test_a_closed_case_writes_to_nobody(page, owner, case, template):
    RecallCase.objects.filter(pk=case.pk).update(
        closed_at=case.opened_at, closed_by=owner, closed_digest="x"
    )
    answer = page.get(at("recall-mailing-start", case), follow=True)
    assert "is closed: nobody is written to any more." in answer.content.decode()
    assert "Write to people" not in page.get(at("recall-mailings", case)).content.decode()


def test_e_mails_that_do_not_leave_are_pointed_out(page, case, settings):
    url = at("recall-mailing-start", case)
    assert "E-mails do not leave from here" in page.get(url).content.decode()
    settings.EMAIL_LEAVES = True
    assert "E-mails do not leave from here" not in page.get(url).content.decode()


@pytest.mark.parametrize("name", ["recall-mailings", "recall-mailing-start"])
def test_an_unknown_case_is_not_found(page, name):
    assert page.get(reverse(name, kwargs={"pk": 999_999})).status_code == 404
