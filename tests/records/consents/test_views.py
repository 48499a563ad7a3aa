"""The pages of consents: what each person sees, and what bad input says."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.consents import ConsentKind
from records.consents.models import Consent, ConsentText
from records.consents.queries import text_in_force
from records.consents.services import save_text, withdraw_consent
from records.consents.supplied import SUPPLIED, Risk, Wording
from tests.factories import SIGNATURE, make_consent
from tests.pdf import pdf_text

FILLER = SUPPLIED[ConsentKind.FILLER]
OWN = Wording("Our filler text", "Our words.", 30, (Risk("It may bruise.", ""),))


def take_url(patient, kind="filler") -> str:
    return reverse("consent-take", args=[patient.pk, kind])


def typed(**changes) -> dict:
    ticks = {f"risk_{number}": "on" for number in range(1, len(FILLER.risks) + 1)}
    sent = {
        "version": "1", "discussed_at": f"{timezone.localtime():%Y-%m-%dT%H:%M}",
        "questions": "Does it hurt? A little.", "told_alternatives": "on", "told_costs": "on",
        "has_capacity": "yes", "capacity_note": "Said it back", "signed_name": "Ann Example",
        "signature": SIGNATURE, "unsigned_reason": "", "witness_name": "", "witness_signature": "",
        **ticks, **changes,
    }  # fmt: skip
    return {name: value for name, value in sent.items() if value is not None}


def test_a_consent_is_taken_with_its_paper(signed_in, injector, patient):
    client = signed_in(injector)
    shown = client.get(take_url(patient)).content.decode()
    assert all(risk.words in shown for risk in FILLER.risks)
    assert "was not adapted yet" in shown
    answer = client.post(take_url(patient), typed())
    consent = Consent.objects.get()
    assert answer["Location"] == reverse("consent-detail", args=[consent.pk])
    assert (consent.taken_by, consent.papers.count()) == (injector, 1)
    page = client.get(answer["Location"]).content.decode()
    assert "Does it hurt? A little." in page
    assert consent.papers.get().digest in page
    paper = client.get(reverse("consent-paper", args=[consent.pk]))
    assert "Ann Example" in pdf_text(paper.content)


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        ({"risk_4": None}, "risk_4", "the patient, who then ticks it"),
        ({"has_capacity": "no"}, "has_capacity", "record it as not given"),
        ({"capacity_note": ""}, "capacity_note", "how capacity was assessed"),
        ({"told_costs": None}, "told_costs", "Talk about the costs"),
        ({"discussed_at": "2999-01-01T10:00"}, "discussed_at", "still to come"),
        ({"discussed_at": "1970-01-01T10:00"}, "discussed_at", "not born by then"),
        ({"discussed_at": "soon"}, "discussed_at", "31/12/2026 14:30"),
        ({"signature": ""}, "signature", "say below why not"),
        ({"signature": "[[[1,1]]]"}, "signature", "a dot, not a signature"),
        ({"signature": "{"}, "signature", "did not arrive whole"),
        ({"signature": "", "unsigned_reason": "Arm"}, "witness_name", "a witness is named"),
        ({"unsigned_reason": "Arm"}, "unsigned_reason", "leave this empty"),
        ({"witness_signature": SIGNATURE}, "witness_name", "name of the witness"),
        ({"signed_name": ""}, "signed_name", "name of whoever agrees"),
    ],
)
def test_what_is_missing_is_said_on_its_field_and_nothing_is_lost(
    signed_in, injector, patient, change, field, said
):
    answer = signed_in(injector).post(take_url(patient), typed(**change))
    assert answer.status_code == 422
    form = answer.context["form"]
    assert said in " ".join(form.errors[field])
    assert said in answer.content.decode()
    assert form["questions"].value() == "Does it hurt? A little."
    assert not Consent.objects.exists()


def test_a_text_that_changed_under_the_page_is_read_ticked_and_signed_anew(
    signed_in, injector, owner, patient
):
    client, sent = signed_in(injector), typed()
    save_text(kind=ConsentKind.FILLER, seen=1, wording=OWN, actor=owner)
    answer = client.post(take_url(patient), sent)
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert "version 2 is in force" in shown
    assert "It may bruise." in shown
    form = answer.context["form"]
    assert (form["version"].value(), form["signature"].value(), form["risk_1"].value()) == (
        "2", None, False,
    )  # fmt: skip
    assert form["questions"].value() == "Does it hurt? A little."
    assert client.post(take_url(patient), typed(version="2")).status_code == 302


def test_the_front_desk_sees_given_or_missing_and_no_more(signed_in, desk, injector, patient):
    url = reverse("consents-for-patient", args=[patient.pk])
    ClinicPolicy.objects.create(cooling_off_days=7)
    withdraw_consent(
        consent=make_consent(injector, patient, ConsentKind.TOXIN), reason="Fear", actor=injector
    )
    make_consent(injector, patient)
    seen = signed_in(injector).get(url).content.decode()
    assert "Withdrawn" in seen
    assert "In cooling-off" in seen
    seen = signed_in(desk).get(url).content.decode()
    assert "Withdrawn" not in seen
    assert "In cooling-off" in seen
    assert seen.count("Not given") == 4
    assert "/take" not in seen
    assert reverse("consent-text-paper", args=["toxin"]) in seen


def test_the_panel_takes_the_same_queries_for_any_number(signed_in, injector, patient):
    client, url = signed_in(injector), reverse("consents-for-patient", args=[patient.pk])
    make_consent(injector, patient)
    client.get(url)
    few = _queries(client, url)
    make_consent(injector, patient)
    make_consent(injector, patient, ConsentKind.TOXIN)
    assert _queries(client, url) == few


def _queries(client, url: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        client.get(url)
    return len(queries)


def test_a_refusal_is_written_down(signed_in, injector, patient):
    client, url = signed_in(injector), reverse("consent-not-given", args=[patient.pk, "toxin"])
    answer = client.post(url, {"outcome": "", "reason": "", "discussed_at": "soon"})
    assert answer.status_code == 422
    assert {*answer.context["form"].errors} == {"outcome", "reason", "discussed_at"}
    sent = {
        "outcome": "declined", "reason": "Expects too much", "questions": "", "has_capacity": "no",
        "capacity_note": "", "discussed_at": f"{timezone.localtime():%Y-%m-%dT%H:%M}",
    }  # fmt: skip
    answer = client.post(url, sent)
    consent = Consent.objects.get()
    assert (consent.outcome, consent.has_capacity) == ("declined", False)
    assert "Expects too much" in client.get(answer["Location"]).content.decode()


def test_a_withdrawal_needs_what_the_patient_says_and_happens_once(signed_in, injector, patient):
    consent = make_consent(injector, patient, ConsentKind.TEACHING)
    client, url = signed_in(injector), reverse("consent-withdraw", args=[consent.pk])
    assert client.post(url, {"reason": " "}).status_code == 422
    assert client.post(url, {"reason": "Changed her mind"}).status_code == 302
    page = client.get(reverse("consent-detail", args=[consent.pk])).content.decode()
    assert "Changed her mind" in page
    again = client.post(url, {"reason": "Twice"})
    assert (again.status_code, "no consent left" in again.content.decode()) == (422, True)


def test_an_earlier_answer_says_that_it_is_one(signed_in, injector, patient):
    first = make_consent(injector, patient)
    make_consent(injector, patient)
    page = signed_in(injector).get(reverse("consent-detail", args=[first.pk])).content.decode()
    assert "An earlier answer" in page


def rows(*risks: tuple[str, str]) -> dict:
    sent = {"risks-TOTAL_FORMS": len(risks), "risks-INITIAL_FORMS": "0"}
    for number, (words, source) in enumerate(risks):
        sent |= {f"risks-{number}-words": words, f"risks-{number}-source": source}
    return sent


TEXT = {"version": "1", "title": "Ours", "body": "Our words.", "valid_days": "90"}


def test_the_owner_writes_a_new_version(signed_in, owner):
    client, url = signed_in(owner), reverse("consent-text-edit", args=["toxin"])
    assert "a start, not legal advice" in client.get(reverse("consent-text-list")).content.decode()
    assert SUPPLIED[ConsentKind.TOXIN].title in client.get(url).content.decode()
    sent = TEXT | rows(("It may bruise.", ""), ("", ""), ("It wears off.", "Our policy"))
    assert client.post(url, sent).status_code == 302
    text = text_in_force(ConsentKind.TOXIN)
    assert (text.version, text.is_supplied, text.wording.valid_days) == (2, False, 90)
    assert text.wording.risks == (Risk("It may bruise.", ""), Risk("It wears off.", "Our policy"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"title": ""}, "Title is required."),
        ({"valid_days": "0"}, "from 1 to 3,650"),
        (rows(("", "")), "at least one statement"),
        (rows(("", "A source")), "Write the statement"),
        ({"version": "2"}, "The text has changed"),
        ({"risks-TOTAL_FORMS": "x"}, "Not saved yet"),
    ],
)
def test_a_text_that_cannot_be_is_not_put_in_force(signed_in, owner, change, said):
    sent = TEXT | rows(("It may bruise.", "")) | change
    answer = signed_in(owner).post(reverse("consent-text-edit", args=["toxin"]), sent)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not ConsentText.objects.filter(version=2).exists()


def test_the_text_is_printed_to_take_home(signed_in, desk):
    ClinicPolicy.objects.create(cooling_off_days=7)
    answer = signed_in(desk).get(reverse("consent-text-paper", args=["filler"]))
    text = pdf_text(answer.content)
    for words in (FILLER.title, "1 of 6,410 syringes", "at least 7 days"):
        assert words in text


def test_an_earlier_text_is_read_as_it_was_and_says_that_it_is_one(signed_in, owner):
    save_text(kind=ConsentKind.FILLER, seen=1, wording=OWN, actor=owner)
    client, url = signed_in(owner), reverse("consent-text-paper", args=["filler"])
    assert f"{url}?version=1" in client.get(reverse("consent-text-list")).content.decode()
    earlier = pdf_text(client.get(f"{url}?version=1").content)
    assert FILLER.title in earlier
    assert "No longer in force" in earlier
    for now in (url, f"{url}?version=2"):
        text = pdf_text(client.get(now).content)
        assert OWN.title in text
        assert "No longer in force" not in text
    for never in ("0", "3", "-1", "one", "99999999999"):
        assert client.get(f"{url}?version={never}").status_code == 404


@pytest.mark.parametrize("name", ["consent-take", "consent-not-given"])
def test_a_consent_of_no_such_kind_is_not_found(signed_in, injector, patient, name):
    assert signed_in(injector).get(reverse(name, args=[patient.pk, "rain"])).status_code == 404


def test_the_consultation_that_took_place_is_when_it_was_talked_about(signed_in, injector, patient):
    answer = signed_in(injector).get(take_url(patient))
    proposed = answer.context["form"]["discussed_at"].initial
    assert timezone.now() - proposed < timedelta(minutes=1)
