"""The clinic's texts: saved, previewed, refused where a placeholder is not known."""

import json

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.audit.models import AuditEvent
from planning.merging import Placeholder
from records.mailings.errors import MailingError
from records.mailings.models import MailTemplate
from records.mailings.occasions import all_placeholders
from records.mailings.queries import templates_for
from records.mailings.services.templates import save_template
from tests.factories import make_template, refreshed

pytestmark = pytest.mark.django_db
FIELDS = {"name": "Call us", "subject": "Please call", "body": "Dear {name},", "is_active": "on"}


@pytest.fixture(autouse=True)
def occasion(only_occasion):
    """Something that mailings are written about, with a word of its own."""
    only_occasion(Placeholder("lot", "the lot number", "7741"))


@pytest.fixture
def page(signed_in, owner):
    return signed_in(owner)


def test_an_occasion_adds_its_words_to_the_common_ones():
    assert [word.name for word in all_placeholders()] == ["name", "clinic", "phone", "date", "lot"]


def test_a_template_is_saved_and_the_trail_says_what_changed(owner):
    template = save_template(template=MailTemplate(name="A", subject="B", body="C"), actor=owner)
    template.body = "Lot {lot}"
    save_template(template=template, actor=owner)
    save_template(template=template, actor=owner)
    saved = AuditEvent.objects.filter(action="mail_template.saved").order_by("id")
    assert len(saved) == 2
    assert json.loads(saved[1].data) == {"before": {"body": "C"}, "after": {"body": "Lot {lot}"}}


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"body": "{nmae}"}, r"\{nmae\} is not known"),
        ({"subject": "{lot}"}, "everybody on the way can read a subject"),
        ({"subject": "two\nlines"}, "one line"),
    ],
)
def test_the_service_refuses_what_the_form_would(owner, fields, message):
    with pytest.raises(MailingError, match=message):
        save_template(
            template=MailTemplate(**{"name": "A", "subject": "B", "body": "C", **fields}),
            actor=owner,
        )


def test_templates_offered_are_those_that_can_be_filled_and_are_in_use():
    plain = make_template("Plain", body="Dear {name}")
    make_template("Lot", body="Lot {lot}")
    make_template("Old", is_active=False)
    assert templates_for({"name"}) == [plain]
    assert len(templates_for({"name", "lot", "clinic"})) == 2


def test_the_database_refuses_a_template_that_says_nothing():
    with pytest.raises(IntegrityError, match="mail_template_says_something"), transaction.atomic():
        MailTemplate.objects.create(name="A", subject="B", body="")


# --- pages ---


def test_the_list_shows_the_templates_and_where_there_is_none_what_to_do(page):
    empty = page.get(reverse("mail-template-list")).content.decode()
    assert "No template yet" in empty
    make_template("Call us")
    make_template("Old one", is_active=False)
    text = page.get(reverse("mail-template-list")).content.decode()
    assert "Call us" in text
    assert "no longer in use" in text


def test_the_page_names_what_a_text_may_leave_open(page):
    text = page.get(reverse("mail-template-create")).content.decode()
    for words in ("{name}", "the patient&#x27;s name", "In a test", "{lot}", "the lot number"):
        assert words in text


def test_a_template_is_entered(page):
    answer = page.post(reverse("mail-template-create"), FIELDS)
    assert answer.url == reverse("mail-template-list")
    assert MailTemplate.objects.get().body == "Dear {name},"


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("body", "Dear {nmae}", "{nmae} is not known. Did you mean {name}?"),
        ("subject", "Lot {lot}", "{lot} tells about a person or a product"),
        ("name", "", "Name is required."),
        ("body", "", "Text is required."),
    ],
)
def test_a_mistake_is_told_on_its_field_and_nothing_typed_is_lost(page, field, typed, message):
    answer = page.post(reverse("mail-template-create"), FIELDS | {field: typed})
    assert answer.status_code == 422
    (told,) = answer.context["form"].errors[field]
    assert told.startswith(message)
    assert answer.context["form"]["subject"].value() == (FIELDS | {field: typed})["subject"]
    assert not MailTemplate.objects.exists()


def test_two_templates_of_one_name_are_refused(page):
    make_template("Call us")
    answer = page.post(reverse("mail-template-create"), FIELDS)
    assert answer.context["form"].errors == {
        "name": ["Another template has this name. Add what tells them apart."]
    }


def test_a_template_is_changed(page):
    template = make_template()
    url = reverse("mail-template-edit", kwargs={"pk": template.pk})
    assert "Call us" in page.get(url).content.decode()
    page.post(url, FIELDS | {"name": "Another", "is_active": ""})
    assert (refreshed(template).name, template.is_active) == ("Another", False)


def test_the_preview_is_of_an_invented_person_and_keeps_what_it_does_not_know(page):
    url = reverse("mail-template-preview")
    typed = {"subject": "From {clinic}", "body": "Dear {name},\n\nlot {lot} {nmae} <b>"}
    text = page.post(url, typed).content.decode()
    for words in ("From Our clinic", "Dear Rosalind van der Zanden,", "lot 7741 {nmae} &lt;b&gt;"):
        assert words in text
    assert page.get(url).status_code == 405


def test_an_unknown_template_is_not_found(page):
    assert page.get(reverse("mail-template-edit", kwargs={"pk": 999_999})).status_code == 404
