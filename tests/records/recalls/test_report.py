"""The report that closes a case, read back from its PDF."""

import hashlib
import re
import threading
from html import unescape

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone
from django.utils.formats import date_format

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from clinic.stock.enums import MovementKind
from planning.sources import RECALL_EFFECTIVENESS
from records.appointments.models import Appointment
from records.patients.enums import Channel
from records.recalls import report as printing
from records.recalls.enums import CheckResult, ContactOutcome
from records.recalls.models import CaseReport, RecallCase
from records.recalls.queries import report as gathering
from records.recalls.queries.closing import open_things
from records.recalls.queries.extent import extent_of
from records.recalls.report import make_report, report_html
from records.recalls.services import report as keeping
from records.recalls.services.checks import draw_checks, record_check
from records.recalls.services.closing import close_case
from records.recalls.services.lists import complete_list
from records.recalls.services.people import attach_event, book_for, note_contact, note_unreachable
from records.recalls.services.pulling import let_go, note_not_found, set_apart
from records.recalls.services.report import give_out_report, keep_report
from tests.factories import make_event, make_patient, make_units, refreshed
from tests.pdf import opened, page_picture, page_texts, pdf_text, tags
from tests.records.recalls.cases import make_case, person_of, span


@pytest.fixture
def policy(db):
    return ClinicPolicy.objects.create(
        name="Larkstone Face Clinic", address="4 Example Lane\nLarkstone LK1 0ZZ",
        phone="020 7946 0123",
    )  # fmt: skip


@pytest.fixture
def worked(case, policy, treated, owner, injector):
    """A case in which all happened that a report tells of; not closed yet."""
    ann, bo = (person_of(case, patient) for patient in treated)
    complete_list(case=case, actor=owner)
    first, second, third = case.units.order_by("pk")
    set_apart(case=case, units=[first.pk, second.pk], actor=owner)
    let_go(case=case, units=[first.pk], kind=MovementKind.RETURNED, witness="Wilma Witness",
           reason="Parcel", actor=owner)  # fmt: skip
    note_not_found(case=case, unit=third.pk, looked_in="Cupboard and both rooms", actor=owner)
    say = {"channel": Channel.PHONE, "actor": owner}
    note_contact(person=ann, outcome=ContactOutcome.NO_ANSWER, **say)
    note_contact(person=ann, outcome=ContactOutcome.INFORMED, note="Feels <b>well</b>", **say)
    note_contact(person=bo, outcome=ContactOutcome.WRONG_DETAILS, **say)
    note_unreachable(person=bo, note="Moved, no new number", actor=owner)
    hour = timezone.now().replace(minute=0, second=0, microsecond=0)
    visit = Appointment(
        practitioner=injector, kind="consultation", minutes=30,
        starts_at=hour + timezone.timedelta(days=3),
    )  # fmt: skip
    book_for(person=ann, appointment=visit, actor=owner)
    attach_event(case=case, event=make_event(owner, treated[0]), actor=owner)
    draw_checks(case=case, actor=owner)
    check = ann.effectiveness
    record_check(check=check, result=CheckResult.EFFECTIVE, note="Knows it all", actor=owner)
    return refreshed(case)


def closed(case: RecallCase, owner) -> RecallCase:
    keys = [thing.key for thing in open_things(case, extent_of(case))]
    explained = dict.fromkeys(keys, "The rest is explained elsewhere")
    return close_case(case=case, note="All told.", explanations=explained, actor=owner)


@pytest.fixture
def text(worked, owner) -> str:
    """What is printed, its tables read cell by cell."""
    return words_of(report_html(closed(worked, owner)))


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html))).replace(" ,", ",")


def test_notice_class_and_what_it_names(text, worked):
    assert "FSN-14" in text
    assert "Class Class II" in text
    assert worked.text in text
    assert "HA filler 1 mL, Example Maker none lot LOT42 LOT42 (exp. 2030-06-30)" in text


def test_a_lot_that_cannot_be_compared_with_a_range_is_named_as_held(owner, product, policy):
    make_units(owner, product, number="100")
    make_units(owner, product, number="15B")
    case = make_case(owner, span(product, "100", "200"))
    assert "100 (exp. 2030-06-30); held, because they cannot be compared: 15B" in words_of(
        report_html(case)
    )


def test_the_stopwatch(text, worked):
    stopped = date_format(timezone.localtime(worked.quarantined_at), "j M Y, H:i:s")
    assert f"Stock stopped {stopped} 10 min 0 s" in text
    assert "Call list complete" in text
    assert "Everybody reached not done when the case was closed –" in text


def test_what_became_of_each_unit(text, worked):
    first, second, third = (row.unit.label for row in worked.units.order_by("pk"))
    assert (
        "5 received = 2 used up + 1 returned + 0 written off + 1 set apart + 1 still about + "
        "0 missing at a count. 4 accounted for."
    ) in text
    assert f"{first} HA filler 1 mL, LOT42 Nobody noted where" in text
    assert "Returned to supplier," in text
    assert "Wilma Witness" in text
    assert f"{second} HA filler 1 mL, LOT42 Nobody noted where" in text
    assert "not found: Cupboard and both rooms still here" in text
    assert third in text


def test_everybody_with_what_they_got_and_how_they_were_told(text, worked, treated):
    got = date_format(timezone.localdate(), "j M Y")
    row = text[text.index("Everybody affected") : text.index("Adverse events found")]
    ann, bo = row[row.index("Ann Example") :].split("Bo Li")
    assert f"{treated[0].record_number}, born 17 May 1980" in ann
    assert f"{got}: HA filler 1 mL, lot LOT42: 1 point, 0.2 mL" in ann
    assert "phone: no answer (Olga Owner)" in ann
    assert "phone: spoken to, and told (Olga Owner): Feels <b>well</b>" in ann
    assert "Appointment" in ann
    assert "phone: number or address is wrong" in bo
    assert "No way to reach them: Moved, no new number" in bo


def test_adverse_events_and_the_effectiveness_check(text, treated):
    assert "A firm lump, not red." in text[text.index("Adverse events found") :]
    assert "Grade 1, mild" in text
    assert (
        "Level A: everyone: 100 % of 2 people = 2 to be asked. 1 of 2 checked; effective for 1 of "
        "1 (100 %)."
    ) in text
    assert "Has the message and understood it: Knows it all" in text
    assert f"Bo Li, {treated[1].record_number} not asked –" in text
    assert "SHA-256 of “R0001 FSN-14”, the character U+001F and the record number" in text
    assert f"Levels: {RECALL_EFFECTIVENESS}" in text
    assert "read second-hand" in text


def test_closure_with_name_time_and_digest(text, worked):
    case = refreshed(worked)
    when = date_format(timezone.localtime(case.closed_at), "j F Y, H:i")
    assert f"Closed by Olga Owner on {when} All told." in text
    assert "1 of 2 patients not reached: The rest is explained elsewhere" in text
    assert f"(SHA-256): {case.closed_digest}" in text


def test_clinic_case_and_page_number_stand_on_each_page(worked, owner):
    RecallCase.objects.filter(pk=worked.pk).update(text="Many words. " * 900)
    pages = page_texts(make_report(closed(refreshed(worked), owner)))
    assert len(pages) >= 3
    for number, page in enumerate(pages, start=1):
        assert (
            "Larkstone Face Clinic 4 Example Lane, Larkstone LK1 0ZZ 020 7946 0123 Recall R0001"
        ) in page
        assert f"Page {number} of {len(pages)}" in page
        assert "Confidential" in page


def test_an_open_case_gives_a_draft_that_says_so_on_each_page(worked):
    pages = page_texts(make_report(worked))
    assert "Recall report (draft, not closed)" in pages[0]
    assert all("Draft, not closed" in page for page in pages)
    assert "Everybody reached not yet –" in " ".join(pages)


def test_a_drill_says_so_across_each_page(drill, policy, owner):
    complete_list(case=drill, actor=owner)
    RecallCase.objects.filter(pk=drill.pk).update(text="Many words. " * 900)
    case = closed(refreshed(drill), owner)
    pdf = make_report(case)
    pages = page_texts(pdf)
    assert len(pages) >= 2
    for page in pages:
        assert "DRILL" in page.replace("DRILL ·", "")
    text = " ".join(pages)
    assert "Report of a recall drill" in text
    assert "Nobody was contacted: a drill." in text
    assert "Stock stopped" not in text
    assert opened(pdf).open_metadata()["dc:title"].startswith("DRILL: ")


def test_a_case_in_earnest_says_nothing_of_a_drill(text):
    assert "drill" not in text.lower()


def test_the_same_case_gives_the_same_bytes_whenever_it_is_printed(worked, owner, monkeypatch):
    """Open and closed: no clock is in it."""
    for act in (lambda: worked, lambda: closed(worked, owner)):
        case = act()
        printed = make_report(case)
        later = timezone.now() + timezone.timedelta(days=400)
        with monkeypatch.context() as patch:
            patch.setattr(timezone, "now", lambda later=later: later)
            assert make_report(refreshed(case)) == printed


def test_it_is_tagged_with_its_tables_and_holds_in_black_and_white(worked):
    pdf = make_report(worked)
    document = opened(pdf)
    assert document.open_metadata()["pdfuaid:part"] == "1"
    kinds = [str(tag.S) for tag in tags(document)]
    assert {"/H1", "/H2", "/Table", "/TH", "/TD"} <= set(kinds)
    colours = page_picture(pdf).getcolors(maxcolors=1_000_000)
    assert all(max(colour) - min(colour) < 8 for _, colour in colours)


def test_a_case_that_reached_nobody(owner, product, policy):
    text = pdf_text(make_report(make_case(owner, span(product, "NEVER"))))
    assert "none, ever" in text
    assert "Nothing of it was in the house" in text
    assert "Nobody got anything of it." in text


def test_names_in_other_scripts_and_letters_that_cannot_be_printed(case, policy, owner, desk):
    for name in ("عبد الرحمن الفاسي", "陳美玲 Chan"):
        case.people.create(patient=make_patient(desk, name), added_at=case.opened_at)
    text = pdf_text(make_report(case))
    assert "عبد الرحمن الفاسي" in text
    assert "[?] Chan" in text
    assert "Some letters cannot be printed." in text
    assert "Nothing of it stands in the record any more." in text


def test_people_stand_by_name_as_on_the_call_list(case, policy, desk):
    for name in ("Walter West", "Østen Nor", "Łucja Kowal", "Đặng Thị"):
        case.people.create(patient=make_patient(desk, name), added_at=case.opened_at)
    names = [row.person.patient.full_name for row in gathering.report_content(case).people]
    assert names == [
        "Ann Example", "Bo Li", "Đặng Thị", "Łucja Kowal", "Østen Nor", "Walter West",
    ]  # fmt: skip


def test_a_long_unbroken_note_stays_on_the_page(worked, owner, treated):
    long = "x" * 300
    ann, bo = (person_of(worked, patient) for patient in treated)
    note_unreachable(person=bo, note=long, actor=owner)
    note_contact(person=ann, outcome=ContactOutcome.NO_ANSWER, channel=Channel.PHONE,
                 note=long, actor=owner)  # fmt: skip
    pdf = make_report(worked)
    for page in range(len(page_texts(pdf))):
        picture = page_picture(pdf, page, dots_per_mm=1).convert("L")
        # The margin beside the text is 14 mm wide.
        margin = picture.crop((picture.width - 13, 0, picture.width, picture.height))
        assert margin.getextrema() == (255, 255)


def test_more_than_is_printed_is_told_of(worked, monkeypatch):
    monkeypatch.setattr(gathering, "PEOPLE_PRINTED", 1)
    monkeypatch.setattr(gathering, "UNITS_PRINTED", 2)
    html = report_html(worked)
    assert "<strong>1 more patients</strong>" in html
    assert "<strong>1 more units</strong>" in html
    assert "Bo Li" not in html[html.index("Everybody affected") : html.index("Adverse events")]


@pytest.mark.parametrize("people", [2, 6])
def test_queries_do_not_grow_with_the_people(
    case, policy, desk, people, django_assert_max_num_queries
):
    for number in range(people - 2):
        patient = make_patient(desk, f"Number {number}")
        case.people.create(patient=patient, added_at=case.opened_at)
    with django_assert_max_num_queries(40):
        report_html(case)


# --- kept ---


@pytest.fixture
def renders(monkeypatch):
    """Counts how often a PDF is made; in place of WeasyPrint, so that it is quick."""
    made = []

    def render(html: str) -> bytes:
        made.append(html)
        return b"%PDF " + html.encode()

    monkeypatch.setattr(printing, "render_pdf", render)
    return made


def test_a_closed_case_s_report_is_made_once_and_given_out_byte_by_byte(
    worked, owner, renders, policy
):
    case = closed(worked, owner)
    first = give_out_report(case=case, actor=owner)
    policy.name = "Another name"
    policy.save()
    assert give_out_report(case=refreshed(case), actor=owner) == first
    assert len(renders) == 1
    kept = CaseReport.objects.get()
    assert (bytes(kept.pdf), kept.digest) == (first, hashlib.sha256(first).hexdigest())
    events = AuditEvent.objects.filter(action__startswith="recall.report").order_by("id")
    assert [event.action for event in events] == [
        "recall.report_kept", "recall.report_printed", "recall.report_printed"
    ]  # fmt: skip
    assert kept.digest in events[0].data


def test_a_draft_is_not_kept(worked, owner, renders):
    give_out_report(case=worked, actor=owner)
    give_out_report(case=worked, actor=owner)
    assert len(renders) == 2
    assert not CaseReport.objects.exists()
    assert AuditEvent.objects.filter(action="recall.draft_printed").count() == 2


@pytest.mark.parametrize("act", ["update", "delete"])
def test_the_database_refuses_to_change_a_kept_report(worked, owner, renders, act):
    keep_report(case=closed(worked, owner), actor=owner)
    reports = CaseReport.objects.all()
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        reports.update(pdf=b"other") if act == "update" else reports._raw_delete(reports.db)


def test_the_database_holds_one_report_for_a_case(worked, owner, renders):
    report = keep_report(case=closed(worked, owner), actor=owner)
    report.pk = None
    with pytest.raises(IntegrityError, match=r"(?i)unique"), transaction.atomic():
        report.save(force_insert=True)


@pytest.mark.django_db(transaction=True)
def test_two_who_ask_at_the_same_moment_get_the_same_report(worked, owner, monkeypatch):
    """Both have found none and have printed one, different ones here, before either saves."""
    case = closed(worked, owner)
    both_printed, names = threading.Barrier(2), iter([b"%PDF one", b"%PDF two"])

    def print_one(case) -> bytes:
        pdf = next(names)
        both_printed.wait(timeout=30)
        return pdf

    monkeypatch.setattr(keeping, "make_report", print_one)
    given: list[object] = []

    def give_out() -> None:
        try:
            given.append(give_out_report(case=case, actor=owner))
        except Exception as error:  # must show in the assertion, not be lost
            given.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=give_out) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    kept = bytes(CaseReport.objects.get().pdf)
    assert given == [kept, kept]
