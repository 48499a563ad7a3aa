"""Who the patient is and what was known before anything was done."""

from planning.screening import change_of
from records.elsewhere.models import ReportedCare
from records.imports.models import ImportedTreatment, ImportRow
from records.imports.queries.treatments import treatments_of
from records.patients.models import Patient
from records.screening.models import HistoryForm
from records.screening.queries import given_in
from records.whole_record.queries.tables import Chapter, Row, Table, by, day, lines, moment, said


def identity(patient: Patient) -> Chapter:
    rows: list[Row] = [
        ("Name", lines(patient.full_name, said("Known as", patient.known_as))),
        ("Record number", patient.record_number),
        ("Date of birth", day(patient.birth_date)),
        ("Sex", patient.get_sex_display()),
        ("Telephone", patient.phone),
        ("E-mail", patient.email),
        ("Address", patient.address),
        ("Preferred channel", patient.get_preferred_channel_display()),
        ("Weight", f"{patient.weight_g / 1000:g} kg" if patient.weight_g else ""),
        ("Registered", moment(patient.created_at)),
    ]
    asked = patient.contact_consents.select_related("asked_by").order_by("asked_at", "id")
    consents = [(moment(row.asked_at), str(row), str(row.asked_by)) for row in asked]
    return Chapter(
        "identity",
        "Identity and contact",
        [
            Table(("What", "As on record"), [row for row in rows if row[1]]),
            Table(("Asked", "May be written to", "By"), consents, "Writing to the patient"),
        ],
    )


def alerts(patient: Patient) -> Chapter:
    found = patient.alerts.select_related("added_by", "ended_by", "raised_by__answer__form")
    rows = [
        (
            row.text,
            row.get_kind_display(),
            row.get_level_display(),
            lines(by(row.added_at, row.added_by), _raised(row)),
            lines(by(row.ended_at, row.ended_by), row.end_reason) if row.ended_at else "in force",
        )
        for row in found.order_by("added_at", "id")
    ]
    return Chapter(
        "alerts",
        "Alerts and allergies",
        [Table(("Alert", "Kind", "Level", "Added", "Ended"), rows)],
    )


def _raised(alert) -> str:
    raised = getattr(alert, "raised_by", None)
    if raised is None:
        return ""
    return f"from the medical history of {day(raised.answer.form.answered_at)}: {raised.source}"


def history(patient: Patient) -> Chapter:
    """Every version as it was sent; what differs from the one before is marked."""
    forms = patient.histories.answered().select_related("questionnaire", "begun_by")
    before: HistoryForm | None = None
    tables = []
    for form in forms.prefetch_related("checks__by").order_by("answered_at", "id"):
        tables += [_answers(form, before), _checks(form)]
        before = form
    return Chapter("history", "Medical history, every version", tables)


def _answers(form: HistoryForm, before: HistoryForm | None) -> Table:
    earlier = given_in(before)
    rows = [
        (
            answer.question.words,
            lines(answer.get_said_display(), answer.detail),
            change_of(answer.given, answer.question.code, earlier).label if before else "",
        )
        for answer in form.answers.select_related("question").order_by("question__position")
    ]
    title = (
        f"Given {moment(form.answered_at)}, {form.get_way_display().lower()}, "
        f"questions {str(form.questionnaire).lower()}, begun by {form.begun_by}"
    )
    return Table(("Question", "Answer", "Against the one before"), rows, title)


def _checks(form: HistoryForm) -> Table:
    rows = [(moment(row.at), str(row), str(row.by), row.note) for row in form.checks.all()]
    return Table(("When", "What", "By", "Note"), rows)


def elsewhere(patient: Patient) -> Chapter:
    reports = patient.reported_care.select_related("reported_by", "withdrawn_by")
    return Chapter(
        "elsewhere",
        "Had elsewhere, as the patient tells it",
        [
            Table(
                ("What", "When", "Details", "Reported", "Withdrawn"),
                [_report(row) for row in reports.order_by("reported_at", "id")],
            )
        ],
    )


def _report(row: ReportedCare) -> Row:
    return (
        row.get_kind_display(), row.when_text, lines(row.details, row.note),
        by(row.reported_at, row.reported_by), by(row.withdrawn_at, row.withdrawn_by),
    )  # fmt: skip


def former_record(patient: Patient) -> Chapter:
    treatments = treatments_of(patient).order_by("treated_on", "id")
    registered = ImportRow.objects.filter(made_patient=patient).select_related("import_of")
    source = [
        (day(row.import_of.begun_at), str(row.import_of.begun_by), row.key) for row in registered
    ]
    columns = ("Treated", "Product", "Lot", "Region, amount", "Treated by", "Note", "Imported")
    return Chapter(
        "former-record",
        "From the former record, as imported; not charted here",
        [
            Table(("Registered by import on", "By", "Number there"), source),
            Table(columns, [_former(row) for row in treatments], "Past treatments"),
        ],
    )


def _former(row: ImportedTreatment) -> Row:
    return (
        day(row.treated_on), row.product, row.lot, lines(row.region, row.amount_text),
        row.injector, row.note, by(row.imported_at, row.imported_by),
    )  # fmt: skip


def assessments(patient: Patient) -> Chapter:
    rows = [
        (
            moment(row.made_at),
            lines(*(_grade(one) for one in row.regions.all())),
            row.note,
            str(row.made_by),
        )
        for row in patient.assessments.with_grades().order_by("made_at", "id")
    ]
    columns = ("When", "Grades", "Note", "By")
    return Chapter("assessments", "Assessments", [Table(columns, rows)])


def _grade(row) -> str:
    sides = (("right", row.right), ("left", row.left), ("whole", row.midline))
    grades = ", ".join(f"{side} {grade}" for side, grade in sides if grade is not None)
    return ": ".join(filter(None, [str(row), grades])) + (f" ({row.note})" if row.note else "")
