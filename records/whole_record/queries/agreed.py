"""What was planned with the patient and agreed to."""

from clinic.templatetags.amounts import amount
from planning.atlas.regions import Region
from records.consents.models import Consent, ConsentText
from records.patients.models import Patient
from records.plans.models import Plan
from records.whole_record.queries.tables import (
    Chapter,
    Row,
    Table,
    by,
    day,
    lines,
    listed,
    moment,
    said,
)


def plans(patient: Patient) -> Chapter:
    found = patient.plans.select_related("made_by", "closed_by").prefetch_related(
        "stages__lines__product", "stages__session", "summaries__issued_by"
    )
    tables = []
    for plan in found.order_by("made_at", "id"):
        tables += [_plan(plan), _lines(plan), _summaries(plan)]
    return Chapter("plans", "Plans", tables)


def _plan(plan: Plan) -> Table:
    rows: list[Row] = [
        ("Made", by(plan.made_at, plan.made_by)),
        ("Note", plan.note),
        ("Alternatives spoken of", plan.alternatives),
        (
            "Ended",
            lines(by(plan.closed_at, plan.closed_by), plan.get_end_display(), plan.end_reason),
        ),
    ]
    return Table(("What", "As planned"), [row for row in rows if row[1]], plan.title)


def _lines(plan: Plan) -> Table:
    rows = [
        (
            f"Stage {stage.number}",
            f"{Region(line.region).label}, {line.get_side_display().lower()}",
            line.product.line_name,
            amount(line.amount, line.measure),
            f"treated {day(stage.session.started_at)}" if stage.session else "",
        )
        for stage in plan.stages.all()
        for line in stage.lines.all()
    ]
    return Table(("Stage", "Where", "Product", "Amount", "Taken up"), rows)


def _summaries(plan: Plan) -> Table:
    rows = [
        (f"Summary {row.number}", by(row.issued_at, row.issued_by), row.digest)
        for row in plan.summaries.all()
    ]
    return Table(("Given to the patient", "When, by", "SHA-256"), rows)


def consents(patient: Patient) -> Chapter:
    """Every answer, and the texts that were answered with what each says of risks."""
    answers = list(
        patient.consents.select_related("text", "taken_by", "withdrawn_by")
        .prefetch_related("ticks__risk")
        .order_by("given_at", "id")
    )
    texts = ConsentText.objects.filter(pk__in={row.text_id for row in answers})
    columns = ("About", "Answer", "The talk", "Capacity, signature", "How long it holds")
    return Chapter(
        "consents",
        "Consents, refusals and treatment declined",
        [
            Table(columns, [_answer(row) for row in answers]),
            *(_text(text) for text in texts.prefetch_related("risks").order_by("kind", "version")),
        ],
    )


def _answer(consent: Consent) -> Row:
    wait = consent.cooling_off
    ticked = listed(tick.risk.position for tick in consent.ticks.all())
    return (
        lines(consent.kind.label, f"text version {consent.text.version}"),
        lines(
            consent.get_outcome_display(),
            consent.reason,
            by(consent.given_at, consent.taken_by),
        ),
        lines(moment(consent.discussed_at), _told(consent), consent.questions),
        lines(
            said("Decides by themselves", _capacity(consent)),
            said("Ticked", ticked),
            said("Signed", consent.signed_name),
            said("Not signed", consent.unsigned_reason),
            said("Witness", consent.witness_name),
        ),
        lines(
            said("No treatment before", f"{wait.ends_at:%-d %b %Y, %H:%M}" if wait else ""),
            said("Until", day(consent.valid_until)),
            said("Withdrawn", by(consent.withdrawn_at, consent.withdrawn_by)),
            consent.withdrawal_reason,
        ),
    )


def _told(consent: Consent) -> str:
    told = (("Alternatives", consent.told_alternatives), ("costs", consent.told_costs))
    return ", ".join(f"{what}: {'yes' if is_told else 'no'}" for what, is_told in told)


def _capacity(consent: Consent) -> str:
    words = {True: "yes", False: "no", None: "not judged"}
    return ", ".join(filter(None, [words[consent.has_capacity], consent.capacity_note]))


def _text(text: ConsentText) -> Table:
    rows = [
        (f"Statement {risk.position}", lines(risk.words, said("Source", risk.source)))
        for risk in text.risks.all()
    ]
    title = f"Text: {text}, written {day(text.written_at)}"
    return Table(("Part", "What the patient was told"), [("Text", text.body), *rows], title)
