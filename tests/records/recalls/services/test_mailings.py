"""Writing to the people of a case: to whom, with which words, and what the case notes of it."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail
from django.db import IntegrityError, transaction

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from records.mailings.enums import MailingChannel
from records.mailings.errors import MailingError, NoSender
from records.mailings.models import Mailing
from records.mailings.occasions import all_placeholders, page_of
from records.mailings.services import emails, letters, starting
from records.mailings.services.deciding import take_as_sent
from records.mailings.services.steps import write_next
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome, Whom
from records.recalls.errors import CaseClosed
from records.recalls.models import CaseContact, CaseMailing
from records.recalls.queries.extent import extent_of
from records.recalls.queries.mailings import (
    people_with_words,
    recipients,
    without_address,
    without_points,
    words_by_patient,
)
from records.recalls.services.closing import close_case
from records.recalls.services.mailings import start_case_mailing
from records.recalls.services.people import note_contact
from records.sessions.models import TreatmentSession
from tests.factories import (
    make_mailing,
    make_patient,
    make_product,
    make_template,
    make_units,
    refreshed,
)
from tests.records.recalls.cases import make_case, person_of, span, treat
from tests.records.recalls.services.test_lists import came_late

LETTER, EMAIL = MailingChannel.LETTER, MailingChannel.EMAIL
BODY = "Dear {name}: {product} of {maker}, lot {lot}, {treated_on}, {regions}, {reference}."


@pytest.fixture(autouse=True)
def printed(monkeypatch):
    """The HTML of each file of letters; WeasyPrint is not asked."""
    rendered: list[str] = []
    monkeypatch.setattr(
        letters, "render_pdf", lambda html: rendered.append(html) or b"%PDF " + html.encode()
    )
    return rendered


@pytest.fixture
def reachable(treated, settings):
    """Ann and Bo can be written to, and e-mails leave."""
    settings.EMAIL_LEAVES = True
    ClinicPolicy.objects.create(name="Larkstone Face Clinic", email="hello@larkstone.example")
    for number, patient in enumerate(treated, start=1):
        patient.address, patient.email = f"{number} Sample Street", f"p{number}@mail.example"
        patient.save()
    return treated


@pytest.fixture
def template(db):
    return make_template("Recall", body=BODY)


def start(case, template, owner, channel=LETTER, whom=Whom.NOT_REACHED) -> Mailing:
    return start_case_mailing(case=case, template=template, channel=channel, whom=whom, actor=owner)


def contacts(case) -> list[tuple]:
    return list(
        CaseContact.objects.filter(person__case=case)
        .order_by("pk")
        .values_list("person__patient", "channel", "outcome", "by")
    )


def names(case, whom) -> list[str]:
    return [patient.full_name for patient, _ in people_with_words(case, extent_of(case), whom)]


# --- words ---


def test_words_are_what_the_patient_got_where_and_when(case, treated):
    session = TreatmentSession.objects.get(patient=treated[0])
    words = words_by_patient(case, extent_of(case), [treated[0].pk])
    assert words == {
        treated[0].pk: {
            "product": "HA filler 1 mL",
            "maker": "Example Maker",
            "lot": "LOT42",
            "treated_on": f"{session.started_at:%-d %B %Y}",
            "regions": "cheekbone",
            "reference": "FSN-14",
        }
    }


def test_several_sessions_products_and_places_stand_in_a_line(
    owner, injector, desk, product, units, monkeypatch
):
    """Each once, in the order of treatment; days by the clinic's own clock."""
    patient = make_patient(desk, "Ann Example")
    other = make_product("HA filler 2 mL", maker="Other Maker")
    [spare, *_] = make_units(owner, other, number="B7")
    for unit, when, place in [
        (units[0], datetime(2026, 3, 3, 23, 30, tzinfo=UTC), {}),
        (units[1], datetime(2026, 6, 30, 23, 30, tzinfo=UTC), {}),
        (spare, datetime(2026, 7, 2, 9, tzinfo=UTC), {"x_dmm": 60, "y_dmm": 990}),
    ]:
        monkeypatch.setattr("django.utils.timezone.now", lambda when=when: when)
        treat(injector, patient, unit, **place)
    monkeypatch.undo()
    case = make_case(owner, span(product), span(other, "B7"))
    words = words_by_patient(case, extent_of(case), [patient.pk])[patient.pk]
    assert words["product"] == "HA filler 1 mL and HA filler 2 mL"
    assert words["maker"] == "Example Maker and Other Maker"
    assert words["lot"] == "LOT42 and B7"
    assert words["treated_on"] == "3 March 2026, 1 July 2026 and 2 July 2026"
    assert words["regions"] == "cheekbone and chin"


def test_a_template_may_ask_for_each_of_these_words():
    known = {word.name for word in all_placeholders()}
    assert {"product", "maker", "lot", "treated_on", "regions", "reference"} <= known


# --- to whom ---


def test_whom(case, treated, owner):
    ann, bo = (person_of(case, patient) for patient in treated)
    note = {"channel": Channel.PHONE, "actor": owner}
    assert names(case, Whom.TO_CONTACT) == ["Ann Example", "Bo Li"]
    note_contact(person=ann, outcome=ContactOutcome.NO_ANSWER, **note)
    assert names(case, Whom.TO_CONTACT) == ["Bo Li"]
    assert names(case, Whom.NOT_REACHED) == ["Ann Example", "Bo Li"]
    note_contact(person=ann, outcome=ContactOutcome.INFORMED, **note)
    assert names(case, Whom.NOT_REACHED) == ["Bo Li"]
    assert names(case, Whom.ALL) == ["Ann Example", "Bo Li"]
    note_contact(person=bo, outcome=ContactOutcome.DECLINED, **note)
    assert names(case, Whom.ALL) == ["Ann Example"]


def test_who_has_nothing_of_it_in_the_record_any_more_is_counted_and_not_written_to(
    case, desk, owner
):
    """Such as somebody whose point was taken back after the case had been opened."""
    case.people.create(patient=make_patient(desk, "Cy Corrected"), added_at=case.opened_at)
    assert without_points(recipients(case, Whom.ALL), extent_of(case)) == 1
    assert names(case, Whom.ALL) == ["Ann Example", "Bo Li"]


def test_who_has_no_address_is_counted(case, treated):
    people = recipients(case, Whom.ALL)
    assert (without_address(people, LETTER), without_address(people, EMAIL)) == (2, 2)
    treated[0].address = "1 Sample Street"
    treated[0].save()
    assert (without_address(people, LETTER), without_address(people, EMAIL)) == (1, 2)


# --- starting ---


def test_everybody_is_put_on_the_list_by_name_and_the_case_keeps_the_mailing(
    case, reachable, template, owner
):
    mailing = start(case, template, owner)
    assert CaseMailing.objects.get().case == case
    assert (mailing.purpose, mailing.is_rehearsal) == ("Recall R0001", False)
    assert [item.patient for item in mailing.items.all()] == reachable
    event = AuditEvent.objects.get(action="recall.mailing_started")
    assert (event.actor, event.subject_id) == (owner, str(case.pk))
    assert json.loads(event.data)["after"] == {
        "mailing": mailing.pk, "template": "Recall", "channel": "letter", "to": "not_reached"
    }  # fmt: skip
    assert page_of(mailing) == f"/recalls/{case.pk}/"


def test_somebody_found_late_is_written_to_as_well(
    case, reachable, template, owner, injector, units
):
    late = came_late(injector, units[2], address="3 Sample Street")
    mailing = start(case, template, owner)
    assert late in [item.patient for item in mailing.items.all()]


def test_nobody_left_is_refused(case, reachable, template, owner):
    for patient in reachable:
        note_contact(
            person=person_of(case, patient), channel=Channel.PHONE,
            outcome=ContactOutcome.INFORMED, actor=owner,
        )  # fmt: skip
    with pytest.raises(MailingError, match="Nobody is on the list"):
        start(case, template, owner)
    assert not Mailing.objects.exists()


def test_e_mails_need_the_clinic_s_own_address(case, reachable, template, owner):
    ClinicPolicy.objects.update(email="")
    with pytest.raises(NoSender):
        start(case, template, owner, channel=EMAIL)
    assert not CaseMailing.objects.exists()


def test_a_closed_case_writes_to_nobody(case, reachable, template, owner):
    closed(case, owner)
    with pytest.raises(CaseClosed):
        start(case, template, owner)


def closed(case, owner) -> None:
    keys = ("list", "no_way", "to_pull", "people", "checks", "mailings", "events", "lots")
    close_case(case=case, note="", explanations=dict.fromkeys(keys, "Explained."), actor=owner)


# --- what the case notes ---


def test_each_letter_written_is_a_contact_of_its_patient(case, reachable, template, owner, printed):
    mailing = start(case, template, owner)
    assert contacts(case) == []
    write_next(mailing=mailing, actor=owner)
    assert contacts(case) == [(p.pk, "letter", "sent", owner.pk) for p in reachable]
    assert [c.item for c in CaseContact.objects.order_by("pk")] == list(mailing.items.all())
    assert "Dear Ann Example: HA filler 1 mL of Example Maker, lot LOT42" in printed[0]
    noted = AuditEvent.objects.filter(action="recall.attempt_noted").order_by("id")
    assert [event.patient_id for event in noted] == [p.pk for p in reachable]


def test_each_e_mail_sent_is_a_contact_of_its_patient(case, reachable, template, owner):
    mailing = start(case, template, owner, channel=EMAIL)
    write_next(mailing=mailing, actor=owner)
    assert len(mail.outbox) == 2
    assert contacts(case) == [(p.pk, "email", "sent", owner.pk) for p in reachable]


def test_from_the_command_line_the_contact_is_by_whoever_started_it(
    case, reachable, template, owner
):
    write_next(mailing=start(case, template, owner), actor=None)
    assert {by for *_, by in contacts(case)} == {owner.pk}


def test_an_e_mail_that_only_became_a_file_reached_nobody(
    case, reachable, template, owner, settings
):
    settings.EMAIL_LEAVES = False
    stands = write_next(mailing=start(case, template, owner, channel=EMAIL), actor=owner)
    assert stands.written == 2
    assert contacts(case) == []


def test_letters_that_are_not_stored_are_no_contacts(case, reachable, template, owner, monkeypatch):
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 1)
    mailing = start(case, template, owner)
    write_next(mailing=mailing, actor=owner)

    def cut_off(mailing):
        raise RuntimeError("cut off")

    monkeypatch.setattr(letters, "close_or_reopen", cut_off)
    with pytest.raises(RuntimeError):
        write_next(mailing=mailing, actor=owner)
    assert len(contacts(case)) == 1
    assert mailing.items.filter(state="waiting").count() == 1


def test_an_unclear_e_mail_that_had_left_becomes_a_contact(case, reachable, template, owner):
    mailing = start(case, template, owner, channel=EMAIL)
    item = mailing.items.first()
    item.state, item.at = "sending", mailing.started_at - timedelta(hours=1)
    item.save()
    take_as_sent(item=item, actor=owner)
    assert contacts(case) == [(reachable[0].pk, "email", "sent", owner.pk)]


def test_the_database_holds_one_contact_for_each_item(case, reachable, template, owner):
    write_next(mailing=start(case, template, owner), actor=owner)
    again = CaseContact.objects.first()
    again.pk = None
    with pytest.raises(IntegrityError, match=r"(?i)unique"), transaction.atomic():
        again.save(force_insert=True)


def test_a_mailing_of_something_else_leaves_no_contact(case, reachable, owner):
    write_next(mailing=make_mailing(owner, reachable), actor=owner)
    assert contacts(case) == []


# --- drill and closing ---


def test_in_a_drill_it_is_a_rehearsal_and_nobody_is_noted(drill, reachable, template, owner):
    for channel in (LETTER, EMAIL):
        mailing = start(drill, template, owner, channel=channel)
        assert mailing.is_rehearsal
        assert write_next(mailing=mailing, actor=owner).written == 2
    assert mail.outbox == []
    assert contacts(drill) == []


def test_a_case_that_is_closed_stops_its_letters(case, reachable, template, owner):
    mailing = start(case, template, owner)
    closed(case, owner)
    with pytest.raises(MailingError, match="Recall R0001 is closed and never changes"):
        write_next(mailing=mailing, actor=owner)
    assert mailing.items.filter(state="waiting").count() == 2
    assert not mailing.batches.exists()


def test_a_case_that_is_closed_while_an_e_mail_leaves_keeps_the_truth_in_the_mailing(
    case, reachable, template, owner, monkeypatch
):
    mailing = start(case, template, owner, channel=EMAIL)
    send = emails.EmailMessage.send

    def while_closing(self):
        monkeypatch.setattr(emails.EmailMessage, "send", send)
        closed(case, owner)
        return send(self)

    monkeypatch.setattr(emails.EmailMessage, "send", while_closing)
    with pytest.raises(MailingError, match="is closed"):
        write_next(mailing=mailing, actor=owner)
    assert list(mailing.items.values_list("state", flat=True)) == ["sent", "waiting"]
    assert contacts(case) == []
    assert refreshed(case).closed_at is not None


# --- who declines while it runs ---


def decline(case, patient, actor) -> None:
    note_contact(
        person=person_of(case, patient), channel=Channel.PHONE, outcome=ContactOutcome.DECLINED,
        note="", actor=actor,
    )  # fmt: skip


def states(mailing) -> list[tuple[str, str]]:
    return list(mailing.items.order_by("position").values_list("state", "problem"))


DECLINED = ("left_out", "Wants no further contact.")


@pytest.mark.parametrize(("channel", "done"), [(LETTER, "written"), (EMAIL, "sent")])
def test_who_declines_after_the_start_gets_none(case, reachable, template, owner, channel, done):
    mailing = start(case, template, owner, channel=channel)
    decline(case, reachable[0], owner)
    write_next(mailing=mailing, actor=owner)
    assert states(mailing) == [DECLINED, (done, "")]
    assert contacts(case)[1:] == [(reachable[1].pk, channel.value, "sent", owner.pk)]


def test_a_file_rendered_before_somebody_declined_is_rendered_anew(
    case, reachable, template, owner, monkeypatch, printed
):
    mailing = start(case, template, owner)
    render = letters.render_pdf

    def while_declining(html):
        monkeypatch.setattr(letters, "render_pdf", render)
        decline(case, reachable[0], owner)
        return render(html)

    monkeypatch.setattr(letters, "render_pdf", while_declining)
    write_next(mailing=mailing, actor=owner)
    assert states(mailing) == [("waiting", ""), ("waiting", "")]
    write_next(mailing=mailing, actor=owner)
    assert states(mailing) == [DECLINED, ("written", "")]
    assert ["Ann Example" in html for html in printed] == [True, False]
