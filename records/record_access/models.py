"""Questions about looks at records, and which patients are members of staff."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from planning.unusual_access import Question
from records.patients.models import Patient
from records.record_access.enums import Mark


class StaffPatientQuerySet(models.QuerySet):
    def the_same(self):
        return self.filter(is_same=True)


class StaffPatient(models.Model):
    """
    Whether a patient is a member of staff, as the owner said.

    That the two are not the same is kept as well, so that a name both bear is asked about once.
    """

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="own_records"
    )
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="as_staff")
    is_same = models.BooleanField()
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    said_at = models.DateTimeField()

    objects = StaffPatientQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        verbose_name = "patient who may be staff"
        constraints = [
            models.UniqueConstraint(fields=["person", "patient"], name="staff_patient_said_once"),
            models.UniqueConstraint(
                fields=["person"], condition=Q(is_same=True), name="staff_patient_one_record"
            ),
            models.UniqueConstraint(
                fields=["patient"], condition=Q(is_same=True), name="staff_patient_one_person"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} {'is' if self.is_same else 'is not'} patient {self.patient_id}"


class AccessLook(models.Model):
    """
    How far the trail was looked through. One row.

    Hours are looked at when they are over, days likewise: whether somebody was at work, or a
    patient had a visit, is known only then.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    hours_until = models.DateTimeField()
    days_until = models.DateField(help_text="The first day that was not looked at.")

    class Meta:
        app_label = "records"
        constraints = [models.CheckConstraint(condition=Q(id=1), name="access_look_is_one_row")]

    def __str__(self) -> str:
        return f"{self.hours_until:%Y-%m-%d %H:%M}, {self.days_until}"


class AccessFindingQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(mark=Mark.OPEN)

    def with_people(self):
        return self.select_related("person", "patient", "marked_by")


class AccessFinding(models.Model):
    """
    A look at records that the owner is asked about (`planning.unusual_access`).

    What was found stays as it was; the owner marks it, as explained or as a concern, with words.

    Attributes:
        key: the same for the same look, so that it is found once.
        count, entries: different records, and entries of the trail.
        records: the numbers of the patients, the first of many.
        first_entry, last_entry: positions in the audit trail.
    """

    question = models.CharField(max_length=12, choices=Question.choices())
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="access_findings"
    )
    patient = models.ForeignKey(
        Patient, on_delete=models.PROTECT, null=True, related_name="access_findings"
    )
    day = models.DateField()
    key = models.CharField(max_length=100, unique=True)
    reason = models.CharField(max_length=300)
    count = models.PositiveIntegerField()
    entries = models.PositiveIntegerField()
    records = models.JSONField(default=list)
    first_entry = models.PositiveBigIntegerField()
    last_entry = models.PositiveBigIntegerField()
    begins_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    found_at = models.DateTimeField()
    mark = models.CharField(max_length=10, choices=Mark.choices(), default=Mark.OPEN)
    words = models.CharField(max_length=500, blank=True)
    marked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    marked_at = models.DateTimeField(null=True)

    objects = AccessFindingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-id"]
        verbose_name = "question about a look"
        constraints = [
            models.CheckConstraint(
                condition=Q(mark=Mark.OPEN, words="", marked_by=None, marked_at=None)
                | (
                    Q(mark__in=[Mark.EXPLAINED, Mark.CONCERN], marked_by__isnull=False)
                    & Q(marked_at__isnull=False)
                    & ~Q(words="")
                ),
                name="access_finding_marked_with_words",
            ),
            models.CheckConstraint(
                condition=Q(last_entry__gte=F("first_entry"), ends_at__gte=F("begins_at")),
                name="access_finding_ends_after_start",
            ),
        ]
        indexes = [
            models.Index(fields=["mark", "-id"], name="access_finding_by_mark"),
        ]

    def __str__(self) -> str:
        return f"{self.get_question_display()}, {self.day}"

    @property
    def is_open(self) -> bool:
        return self.mark == Mark.OPEN
