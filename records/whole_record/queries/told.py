"""What the patient was told and given: messages, letters, aftercare, papers; and recalls."""

from clinic.audit.models import AuditEvent
from records.aftercare.models import AftercareSheet, CheckInAnswer
from records.consents.models import ConsentPaper
from records.follow_up.models import ContactAttempt
from records.mailings.models import MailingItem
from records.notes.models import ChartNote
from records.occlusions.models import HandoverSheet
from records.patients.models import Patient
from records.recalls.models import CasePatient
from records.whole_record.queries.tables import Chapter, Table, by, day, lines, moment, said


def messages(patient: Patient) -> Chapter:
    """Where a message holds the patient's own link, that is not printed: it opens a page."""
    return Chapter(
        "messages",
        "Messages, letters and calls",
        [_messages(patient), _letters(patient), _calls(patient), _recalls(patient)],
    )


def _messages(patient: Patient) -> Table:
    found = patient.messages.select_related("settled_by").prefetch_related("answers")
    rows = [
        (
            moment(row.at or row.due_at),
            row.get_kind_display(),
            lines(row.get_route_display(), row.recipient),
            lines(row.subject, row.text.replace("{link}", "[link]")),
            lines(row.get_state_display(), row.problem, row.outcome),
            lines(*(f"{answer} {answer.note}".strip() for answer in row.answers.all())),
        )
        for row in found.order_by("due_at", "id")
    ]
    return Table(("When", "About", "To", "Words", "What became of it", "Answer"), rows)


def _letters(patient: Patient) -> Table:
    items = MailingItem.objects.filter(patient=patient, mailing__is_rehearsal=False)
    rows = [
        (
            moment(row.at),
            row.mailing.get_channel_display(),
            lines(row.mailing.purpose, row.mailing.subject),
            lines(row.get_state_display(), row.problem),
        )
        for row in items.select_related("mailing").order_by("id")
    ]
    return Table(("When", "By", "About", "What became of it"), rows, "Letters and e-mails to many")


def _calls(patient: Patient) -> Table:
    tries = ContactAttempt.objects.filter(review__patient=patient).select_related("by", "review")
    rows = [
        (by(row.at, row.by), f"Review due {day(row.review.due_on)}", str(row), row.note)
        for row in tries.order_by("at", "id")
        if row.review
    ]
    return Table(
        ("When, by", "About", "What came of it", "Note"), rows, "Tries to reach the patient"
    )


def _recalls(patient: Patient) -> Table:
    cases = CasePatient.objects.filter(patient=patient).select_related("case")
    rows = [
        (
            str(row.case),
            moment(row.added_at),
            lines(*(f"{moment(one.at)}: {one}" for one in row.contacts.all())),
            row.unreachable_note,
        )
        for row in cases.prefetch_related("contacts").order_by("id")
    ]
    return Table(("Recall", "Found", "Contacts", "Not reached"), rows, "Recalls")


def aftercare(patient: Patient) -> Chapter:
    sheets = AftercareSheet.objects.filter(session__patient=patient).defer("pdf")
    given = [
        (
            moment(row.given_at),
            day(row.session.started_at),
            row.get_way_display(),
            lines(*(_lot(one) for one in row.content.get("given", []))),
            said("In an emergency", row.content.get("contact")),
            str(row.given_by),
        )
        for row in sheets.select_related("session", "given_by").order_by("given_at", "id")
    ]
    answers = CheckInAnswer.objects.filter(check_in__session__patient=patient)
    worries = [
        (
            moment(row.at),
            day(row.check_in.session.started_at),
            lines(row.get_feeling_display(), *row.sign_labels, row.note),
            lines(row.done, by(row.settled_at, row.settled_by)),
        )
        for row in answers.select_related("check_in__session", "settled_by").order_by("at", "id")
    ]
    return Chapter(
        "aftercare",
        "Aftercare",
        [
            Table(("Given", "After", "How", "What it names", "Whom to call", "By"), given),
            Table(("Answered", "After", "How the patient is", "Done"), worries, "The day after"),
        ],
    )


def _lot(given: dict) -> str:
    return f"{given['product']}, lot {given['lot']}: {', '.join(given['regions'])}"


def papers(patient: Patient) -> Chapter:
    """Whatever was kept as a PDF, by its digest."""
    notes = ChartNote.objects.filter(session__patient=patient).defer("pdf")
    rows = [
        (f"Chart note, treated {day(row.session.started_at)}", moment(row.made_at), "", row.digest)
        for row in notes.select_related("session").order_by("made_at", "id")
    ]
    signed = ConsentPaper.objects.filter(consent__patient=patient).defer("pdf")
    rows += [
        (str(row.consent), moment(row.made_at), "", row.digest)
        for row in signed.select_related("consent__text").order_by("made_at", "id")
    ]
    sheets = HandoverSheet.objects.filter(occlusion__session__patient=patient).defer("pdf")
    rows += [
        (f"Handover sheet, {row.occlusion}", moment(row.made_at), "", row.digest)
        for row in sheets.select_related("occlusion").order_by("made_at", "id")
    ]
    records = patient.whole_records.filter(made_at__isnull=False).defer("pdf")
    rows += [
        (
            f"Whole record for {row.recipient}",
            moment(row.made_at),
            lines(row.get_purpose_display(), row.note, row.asked_by),
            row.digest,
        )
        for row in records.select_related("asked_by").order_by("made_at", "id")
    ]
    columns = ("Paper", "Made", "Why, by", "SHA-256")
    return Chapter("papers", "Papers made of this record", [Table(columns, rows)])


def trail(patient: Patient) -> list[str]:
    """
    A line for each event of the audit trail about the patient: position in the chain, moment (UTC),
    act, subject, who, digest.
    """
    events = AuditEvent.objects.filter(patient_id=patient.pk).order_by("id")
    columns = ("id", "at", "action", "subject_type", "subject_id", "actor__full_name", "digest")
    return [
        f"{position} · {at:%Y-%m-%d %H:%M:%S} · {action} · {kind} {subject} · "
        f"{who or 'a command'} · {digest}"
        for position, at, action, kind, subject, who, digest in events.values_list(*columns)
    ]
