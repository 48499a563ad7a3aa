"""Consent texts by version, what patients answered to them, and the papers they got."""

from datetime import datetime

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from planning.consents import ConsentKind, CoolingOff, Outcome
from records.patients.models import Patient

LONGEST_DAYS = 3650


class ConsentText(models.Model):
    """
    One version of what patients of a kind of treatment are told. A change is a new version.

    `written_by` is empty for the text that came with the program.
    """

    kind = models.CharField(max_length=20, choices=ConsentKind.choices())
    version = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=200)
    body = models.TextField("what the patient is told")
    valid_days = models.PositiveSmallIntegerField(
        "holds for", validators=[MinValueValidator(1), MaxValueValidator(LONGEST_DAYS)]
    )
    written_at = models.DateTimeField()
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["kind", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "version"], name="consent_text_version_once"),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in ConsentKind]),
                name="consent_text_kind_is_known",
            ),
            models.CheckConstraint(
                condition=Q(version__gte=1), name="consent_text_version_counts_from_one"
            ),
            models.CheckConstraint(
                condition=Q(valid_days__range=(1, LONGEST_DAYS)), name="consent_text_holds_for_days"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}, version {self.version}"


class ConsentRisk(models.Model):
    """One statement of a text that is read and ticked by itself."""

    text = models.ForeignKey(ConsentText, on_delete=models.PROTECT, related_name="risks")
    position = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=500)
    source = models.CharField(max_length=300, blank=True)

    class Meta:
        app_label = "records"
        ordering = ["text", "position"]
        constraints = [
            models.UniqueConstraint(fields=["text", "position"], name="consent_risk_place_once")
        ]

    def __str__(self) -> str:
        return self.words


class ConsentQuerySet(models.QuerySet):
    def latest_first(self):
        return self.order_by("-given_at", "-id")

    def in_force(self):
        """
        Given, not withdrawn, to the text in force, and nothing answered since about the same kind;
        whether they ran out by a day is the caller's question.
        """
        newer_texts = ConsentText.objects.filter(
            kind=OuterRef("text__kind"), version__gt=OuterRef("text__version")
        )
        # Of two at one moment the one that was kept later counts.
        later = Consent.objects.filter(
            Q(given_at__gt=OuterRef("given_at"))
            | Q(given_at=OuterRef("given_at"), id__gt=OuterRef("id")),
            patient=OuterRef("patient"),
            text__kind=OuterRef("text__kind"),
        )
        given = self.filter(outcome=Outcome.GIVEN, withdrawn_at__isnull=True)
        return given.exclude(Exists(newer_texts)).exclude(Exists(later))

    def for_treatment(self):
        """Those that a first treatment waits for, as booking asks about them."""
        waited_for = [kind.value for kind in ConsentKind if kind.has_cooling_off]
        return self.filter(text__kind__in=waited_for)


_SIGNED = ~Q(signature="") | (~Q(unsigned_reason="") & ~Q(witness_name=""))


class Consent(models.Model):
    """
    What a patient answered to one text. It never changes; a given one can be withdrawn.

    `given_at` is the moment of the answer, whatever it was. `not_before` and `not_before_day` are
    the end of the cooling-off time in both readings, as the patient was told; empty where there was
    none. Signatures are strokes (`records.signatures.validators`).
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="consents")
    text = models.ForeignKey(ConsentText, on_delete=models.PROTECT, related_name="answers")
    outcome = models.CharField(max_length=10, choices=Outcome.choices())
    reason = models.CharField(max_length=300, blank=True)
    discussed_at = models.DateTimeField()
    questions = models.TextField("questions and answers", blank=True)
    told_alternatives = models.BooleanField()
    told_costs = models.BooleanField()
    has_capacity = models.BooleanField(null=True)
    capacity_note = models.CharField("how capacity was assessed", max_length=300, blank=True)
    signed_name = models.CharField(max_length=200, blank=True)
    signature = models.TextField(blank=True)
    unsigned_reason = models.CharField("why nobody signed", max_length=300, blank=True)
    witness_name = models.CharField(max_length=200, blank=True)
    witness_signature = models.TextField(blank=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    given_at = models.DateTimeField()
    valid_until = models.DateField(null=True)
    not_before = models.DateTimeField(null=True)
    not_before_day = models.DateField(null=True)
    withdrawn_at = models.DateTimeField(null=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    withdrawal_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = ConsentQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-given_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(outcome__in=[outcome.value for outcome in Outcome]),
                name="consent_outcome_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(outcome=Outcome.GIVEN.value)
                | Q(
                    # Alone, an unknown value would pass: NULL is not false.
                    has_capacity__isnull=False, has_capacity=True, told_alternatives=True,
                    told_costs=True, valid_until__isnull=False,
                ),
                name="consent_given_is_informed",
            ),
            models.CheckConstraint(
                condition=~Q(outcome=Outcome.GIVEN.value) | (_SIGNED & ~Q(signed_name="")),
                name="consent_given_is_signed_or_witnessed",
            ),
            models.CheckConstraint(
                condition=Q(outcome=Outcome.GIVEN.value)
                | (~Q(reason="") & Q(valid_until__isnull=True, withdrawn_at__isnull=True)),
                name="consent_not_given_has_its_reason",
            ),
            models.CheckConstraint(
                condition=Q(not_before__isnull=True, not_before_day__isnull=True)
                | Q(not_before__isnull=False, not_before_day__isnull=False),
                name="consent_cooling_off_in_both_readings",
            ),
            models.CheckConstraint(
                condition=Q(discussed_at__lte=F("given_at")), name="consent_after_the_talk"
            ),
            models.CheckConstraint(
                condition=Q(witness_signature="") | ~Q(witness_name=""),
                name="consent_witness_has_a_name",
            ),
            models.CheckConstraint(
                condition=Q(
                    withdrawn_at__isnull=True, withdrawn_by__isnull=True, withdrawal_reason=""
                )
                | (
                    Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False)
                    & ~Q(withdrawal_reason="")
                ),
                name="consent_withdrawn_by_somebody_with_a_reason",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.get_outcome_display()}: {self.text.title}"

    @property
    def kind(self) -> ConsentKind:
        return ConsentKind(self.text.kind)

    @property
    def is_given(self) -> bool:
        return self.outcome == Outcome.GIVEN

    @property
    def is_withdrawn(self) -> bool:
        return self.withdrawn_at is not None

    def was_withdrawn_at(self, moment: datetime) -> bool:
        return self.withdrawn_at is not None and self.withdrawn_at <= moment

    @property
    def cooling_off(self) -> CoolingOff | None:
        """As the patient was told."""
        if self.not_before is None or self.not_before_day is None:
            return None
        return CoolingOff(timezone.localtime(self.not_before), self.not_before_day)


class ConsentTick(models.Model):
    """A statement that the patient read and ticked."""

    consent = models.ForeignKey(Consent, on_delete=models.PROTECT, related_name="ticks")
    risk = models.ForeignKey(ConsentRisk, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["consent", "risk__position"]
        constraints = [
            models.UniqueConstraint(fields=["consent", "risk"], name="consent_tick_once")
        ]

    def __str__(self) -> str:
        return str(self.risk)


class ConsentPaper(models.Model):
    """
    The bytes of a signed consent, and of the same with its withdrawal. Never rendered twice.

    `digest` is the SHA-256 of `pdf`, and stands in the audit trail too.
    """

    consent = models.ForeignKey(Consent, on_delete=models.PROTECT, related_name="papers")
    shows_withdrawal = models.BooleanField()
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(
                fields=["consent", "shows_withdrawal"], name="consent_paper_once_per_state"
            )
        ]

    def __str__(self) -> str:
        return f"Paper of consent {self.consent_id}"
