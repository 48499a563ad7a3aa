"""Files of a former record, their rows, and the past treatments that came of them."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.amounts import format_amount
from planning.imports.columns import DateOrder, Kind
from planning.imports.reading import Letters
from planning.imports.rows import LONGEST_CODE, LONGEST_NOTE, LONGEST_WORDS, Mapped
from planning.vocabulary import Measure
from records.imports.enums import RowState, State
from records.patients.models import Patient


def _person(**options) -> models.ForeignKey:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", **options
    )


class Import(models.Model):
    """
    One file of a former record: how it is written and read, and how far it is.

    Attributes:
        digest: SHA-256 of the file, so that nobody takes it in twice.
        mapping: our column's key -> the place of theirs, from 0.
        begun_event: position in the audit trail at which it began to be taken in. What came later
            and is not the import's own keeps a patient from being undone.
    """

    kind = models.CharField("what it holds", max_length=10, choices=Kind.choices())
    state = models.CharField(max_length=10, choices=State.choices(), default=State.UPLOADED.value)
    file_name = models.CharField("file", max_length=200)
    digest = models.CharField(max_length=64, editable=False)
    letters = models.CharField(max_length=10, choices=Letters.choices())
    separator = models.CharField(max_length=1)
    headings = models.JSONField(default=list)
    row_count = models.PositiveIntegerField("rows", default=0)
    mapping = models.JSONField("columns", default=dict)
    date_order = models.CharField(max_length=5, blank=True, choices=DateOrder.choices())
    measure = models.CharField(
        "amounts without a unit", max_length=6, blank=True, choices=Measure.choices()
    )
    uploaded_at = models.DateTimeField()
    uploaded_by = _person()
    begun_at = models.DateTimeField(null=True, editable=False)
    begun_by = _person(null=True, editable=False)
    begun_event = models.PositiveBigIntegerField(null=True, editable=False)
    done_at = models.DateTimeField(null=True, editable=False)
    undone_at = models.DateTimeField(null=True, editable=False)
    undone_by = _person(null=True, editable=False)
    undo_reason = models.CharField(max_length=300, blank=True, editable=False)
    cells_dropped_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        app_label = "records"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in State]),
                name="import_state_is_known",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in Kind]), name="import_kind_is_known"
            ),
            models.UniqueConstraint(
                fields=["digest", "kind"],
                condition=~Q(state__in=["undone", "discarded"]),
                name="import_file_once",
            ),
            # Two at once would not see each other's patients.
            models.UniqueConstraint(
                fields=["state"], condition=Q(state=State.RUNNING.value), name="import_one_runs"
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["running", "done", "undoing", "undone"])
                | Q(begun_at__isnull=False, begun_by__isnull=False, begun_event__isnull=False),
                name="import_begun_by_somebody",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["undoing", "undone"])
                | (Q(undone_by__isnull=False) & ~Q(undo_reason="")),
                name="import_undone_by_somebody_who_says_why",
            ),
        ]

    def __str__(self) -> str:
        return self.file_name

    @property
    def now(self) -> State:
        return State(self.state)

    @property
    def mapped(self) -> Mapped:
        """As the planning service takes it."""
        return Mapped(
            kind=Kind(self.kind),
            columns=self.mapping,
            width=len(self.headings),
            order=DateOrder(self.date_order) if self.date_order else None,
            measure=Measure(self.measure) if self.measure else None,
        )


class ImportRow(models.Model):
    """
    One row of a file. `cells` are dropped once it was taken in, and of all rows when the time to
    undo is over: what a clinic did not take into its record it does not keep beside it.

    Attributes:
        key: of a patient the number in the former record; of a treatment what makes it the same as
            another one.
        born, tail, email: of a patient who is new, to find another row of the same person.
        patient: whom the row is about, once that is known for certain.
        made_patient: whom it registered.
        is_sure: a person said that this is nobody who is here already.
    """

    import_of = models.ForeignKey(Import, on_delete=models.PROTECT, related_name="rows")
    number = models.PositiveIntegerField("row")
    cells = models.JSONField(null=True)
    state = models.CharField(
        max_length=8, choices=RowState.choices(), default=RowState.WAITING.value
    )
    problems = models.JSONField(default=list)
    key = models.CharField(max_length=64, blank=True)
    born = models.DateField(null=True)
    tail = models.CharField(max_length=9, blank=True)
    email = models.CharField(max_length=254, blank=True)
    patient = models.ForeignKey(
        Patient, on_delete=models.SET_NULL, null=True, related_name="import_rows"
    )
    made_patient = models.OneToOneField(
        Patient, on_delete=models.PROTECT, null=True, related_name="import_row"
    )
    is_sure = models.BooleanField(default=False)

    class Meta:
        app_label = "records"
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["import_of", "number"], name="import_row_once"),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in RowState]),
                name="import_row_state_is_known",
            ),
            models.CheckConstraint(
                condition=Q(made_patient__isnull=True) | Q(state__in=["taken", "kept"]),
                name="import_row_made_when_taken",
            ),
        ]
        indexes = [
            models.Index(fields=["import_of", "state", "number"], name="import_row_by_state"),
            models.Index(fields=["key"], name="import_row_by_key", condition=~Q(key="")),
            models.Index(
                fields=["import_of", "born"], name="import_row_by_born",
                condition=Q(born__isnull=False),
            ),
            models.Index(
                fields=["import_of", "tail"], name="import_row_by_tail", condition=~Q(tail="")
            ),
            models.Index(
                fields=["import_of", "email"], name="import_row_by_email", condition=~Q(email="")
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"Row {self.number}"

    @property
    def reasons(self) -> list[str]:
        """ "Phone: the spreadsheet has shortened this number…"."""
        return [f"{column}: {reason}" if column else reason for column, reason in self.problems]


class ImportedTreatment(models.Model):
    """
    A past treatment from the former record, in that record's words.

    It is no session: it was not charted here, has no points and no unit of stock, and counts in no
    total and no limit. It never changes; undoing its import takes it out.
    """

    patient = models.ForeignKey(
        Patient, on_delete=models.PROTECT, related_name="imported_treatments"
    )
    row = models.OneToOneField(ImportRow, on_delete=models.PROTECT, related_name="treatment")
    treated_on = models.DateField()
    product = models.CharField(max_length=LONGEST_WORDS)
    lot = models.CharField(max_length=LONGEST_CODE, blank=True)
    region = models.CharField(max_length=LONGEST_WORDS, blank=True)
    amount = models.PositiveIntegerField(null=True)
    measure = models.CharField(max_length=6, blank=True, choices=Measure.choices())
    injector = models.CharField("treated by", max_length=LONGEST_WORDS, blank=True)
    note = models.CharField(max_length=LONGEST_NOTE, blank=True)
    imported_at = models.DateTimeField()
    imported_by = _person()

    class Meta:
        app_label = "records"
        ordering = ["-treated_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__isnull=True, measure="")
                | Q(amount__gt=0, measure__in=[measure.value for measure in Measure]),
                name="imported_amount_with_its_measure",
            ),
            models.CheckConstraint(condition=~Q(product=""), name="imported_names_a_product"),
        ]
        indexes = [
            models.Index(fields=["lot"], name="imported_by_lot", condition=~Q(lot="")),
        ]

    def __str__(self) -> str:
        return f"{self.product} on {self.treated_on}, from the former record"

    @property
    def amount_text(self) -> str:
        if self.amount is None:
            return ""
        return format_amount(self.amount, Measure(self.measure), no_break=True)
