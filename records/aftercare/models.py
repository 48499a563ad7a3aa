"""What patients are told after a treatment, that they were told, and how they are the day after."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.aftercare import AftercareKind
from planning.warning_signs import Haste, WarningSign, haste_of
from records.aftercare.enums import Feeling, Way
from records.reminders.models import Message
from records.sessions.models import TreatmentSession

LINK_LASTS = timedelta(days=30)
MOST_ANSWERS = 20
NOTE_LENGTH = 500


class AftercareText(models.Model):
    """
    The clinic's own advice for one kind of treatment; a change is a new version on top.

    `advice` and `signs` hold one thing a line. Until there is one, `planning.aftercare` speaks.
    """

    kind = models.CharField(max_length=10, choices=AftercareKind.choices())
    version = models.PositiveSmallIntegerField()
    advice = models.TextField("What to do", max_length=4000)
    signs = models.TextField("Call us at once with", max_length=2000)
    written_at = models.DateTimeField()
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["kind", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "version"], name="aftercare_text_version_once"),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in AftercareKind]),
                name="aftercare_text_kind_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(advice="") & ~Q(signs="") & Q(version__gt=0),
                name="aftercare_text_says_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, version {self.version}"


class AftercareSheet(models.Model):
    """
    One sheet as it was given to a patient: never changed.

    `content` is what it said (`queries.sheets.Content`). `pdf` is there where it was printed; one
    that was sent belongs to its message, one that was shown has a link of its own, of which only
    the digest is kept.
    """

    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, related_name="aftercare_sheets"
    )
    way = models.CharField(max_length=10, choices=Way.choices())
    content = models.JSONField()
    pdf = models.BinaryField(null=True)
    digest = models.CharField(max_length=64, blank=True)
    message = models.OneToOneField(
        Message, on_delete=models.PROTECT, null=True, related_name="aftercare_sheet"
    )
    reference = models.CharField(max_length=32, unique=True, null=True, blank=True)
    token_digest = models.CharField(max_length=64, unique=True, null=True, blank=True)
    given_at = models.DateTimeField()
    given_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["-given_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    way="printed", pdf__isnull=False, message__isnull=True, reference__isnull=True
                )
                | Q(way="email", pdf__isnull=True, message__isnull=False, reference__isnull=True)
                | Q(way="shown", pdf__isnull=True, message__isnull=True, reference__isnull=False),
                name="aftercare_sheet_by_its_way",
            ),
        ]

    def __str__(self) -> str:
        return f"Aftercare sheet, {self.get_way_display().lower()}"

    @property
    def ends_at(self) -> datetime:
        """Until when the patient's page can be opened."""
        return self.given_at + LINK_LASTS


class CheckIn(models.Model):
    """The question of the day after a session, asked once by a message."""

    session = models.OneToOneField(
        TreatmentSession, on_delete=models.PROTECT, related_name="check_in"
    )
    message = models.OneToOneField(Message, on_delete=models.PROTECT, related_name="check_in")

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"Question after session {self.session_id}"


class CheckInAnswerQuerySet(models.QuerySet):
    def waiting(self):
        """Worries that nobody dealt with."""
        return self.filter(feeling=Feeling.WORRIED, settled_at__isnull=True)


class CheckInAnswer(models.Model):
    """
    How a patient is, as they said it by their link; it stays as it was given.

    A worry is on the follow-up list until somebody writes down what was done about it, also where
    the patient says later that all is well.
    """

    check_in = models.ForeignKey(CheckIn, on_delete=models.PROTECT, related_name="answers")
    feeling = models.CharField(max_length=10, choices=Feeling.choices())
    signs = models.JSONField(default=list)
    note = models.CharField(max_length=NOTE_LENGTH, blank=True)
    haste = models.PositiveSmallIntegerField(default=0)
    at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, editable=False)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    done = models.CharField("What was done", max_length=NOTE_LENGTH, blank=True)

    objects = CheckInAnswerQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(feeling="well", haste=0) | Q(feeling="worried", haste__in=[1, 2, 3]),
                name="check_in_answer_worry_has_haste",
            ),
            models.CheckConstraint(
                condition=Q(settled_at__isnull=True, settled_by__isnull=True, done="")
                | (Q(settled_at__isnull=False, settled_by__isnull=False) & ~Q(done="")),
                name="check_in_answer_settled_says_what",
                violation_error_message="Say what was done.",
            ),
        ]
        indexes = [
            models.Index(
                fields=["at"],
                condition=Q(feeling="worried", settled_at__isnull=True),
                name="check_in_answer_waiting",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_feeling_display()} ({self.at:%Y-%m-%d %H:%M})"

    @property
    def sign_labels(self) -> list[str]:
        """The ticked signs as the patient read them."""
        return [WarningSign(sign).label for sign in self.signs]

    @property
    def is_emergency(self) -> bool:
        return self.haste == Haste.EMERGENCY

    def weigh(self) -> None:
        """Set how pressing it is, from what was ticked and written; unsaved."""
        is_worried = self.feeling == Feeling.WORRIED
        signs = [WarningSign(sign) for sign in self.signs]
        self.haste = haste_of(signs, self.note) if is_worried else 0
