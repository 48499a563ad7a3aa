"""The clinic's questionnaire and rules, and the medical histories that patients give by it."""

from collections.abc import Iterable

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q

from clinic.staff.models import User
from planning.screening import Given, Said
from planning.sources import Confidence
from records.patients.enums import AlertKind, AlertLevel
from records.patients.models import Alert, Patient
from records.screening.enums import RULE_ANSWERS, CheckKind, QuestionKind, Way

CODE_LENGTH = 40
DETAIL_LENGTH = 1000
_code = RegexValidator(
    r"\A[a-z0-9]+(-[a-z0-9]+)*\Z",
    "Small letters, digits and single hyphens, such as blood-thinner.",
)


def _known(field: str, words: Iterable[str], name: str) -> models.CheckConstraint:
    return models.CheckConstraint(condition=Q(**{f"{field}__in": [*words]}), name=name)


def _values(words) -> list[str]:
    return [word.value for word in words]


class Questionnaire(models.Model):
    """One version of the clinic's questions. A change makes another; histories keep theirs."""

    version = models.PositiveIntegerField(unique=True)
    intro = models.TextField("introduction", max_length=1000, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    is_in_use = models.BooleanField("in use", default=True)

    class Meta:
        app_label = "records"
        ordering = ["-version"]
        constraints = [
            models.UniqueConstraint(
                fields=["is_in_use"], condition=Q(is_in_use=True), name="questionnaire_one_in_use"
            )
        ]

    def __str__(self) -> str:
        return f"Version {self.version}"


class Question(models.Model):
    """One question; `code` names it over all versions, and rules go by it."""

    questionnaire = models.ForeignKey(
        Questionnaire, on_delete=models.PROTECT, related_name="questions"
    )
    code = models.CharField(max_length=CODE_LENGTH, validators=[_code])
    position = models.PositiveSmallIntegerField()
    section = models.CharField(max_length=80, help_text="The heading it stands under.")
    words = models.CharField("question", max_length=300)
    help = models.CharField("explanation", max_length=300, blank=True)
    kind = models.CharField("answered by", max_length=10, choices=QuestionKind.choices())

    class Meta:
        app_label = "records"
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["questionnaire", "code"], name="question_once"),
            models.UniqueConstraint(fields=["questionnaire", "position"], name="question_place"),
            models.CheckConstraint(condition=~Q(words=""), name="question_asks_something"),
            _known("kind", _values(QuestionKind), "question_kind_is_known"),
        ]

    def __str__(self) -> str:
        return self.words


class ScreeningRule(models.Model):
    """Which answer raises which alert, and who says so."""

    question_code = models.CharField("question", max_length=CODE_LENGTH, validators=[_code])
    answer = models.CharField(
        "when the answer is",
        max_length=8,
        choices=[(said.value, said.label) for said in RULE_ANSWERS],
    )
    level = models.CharField(max_length=10, choices=AlertLevel.choices())
    kind = models.CharField("kind of alert", max_length=10, choices=AlertKind.choices())
    alert_text = models.CharField("alert", max_length=200)
    backing = models.CharField("known from", max_length=20, choices=Confidence.choices())
    source = models.CharField("which source", max_length=200, blank=True)
    is_active = models.BooleanField("in use", default=True)

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["question_code", "answer"],
                name="screening_rule_once",
                violation_error_message="This answer has a rule already. Change that one.",
            ),
            models.CheckConstraint(
                condition=~Q(alert_text=""), name="screening_rule_says_something"
            ),
            models.CheckConstraint(
                condition=~Q(backing__in=["published", "second_hand"]) | ~Q(source=""),
                name="screening_rule_says_where",
                violation_error_message="Name the publication: authors or title, year.",
            ),
            _known("level", _values(AlertLevel), "screening_rule_level_is_known"),
            # "None known" is said at the desk, and ends no allergy here.
            _known("kind", ["allergy", "medical", "other"], "screening_rule_kind_is_known"),
            _known("answer", _values(RULE_ANSWERS), "screening_rule_answer_is_known"),
            _known("backing", _values(Confidence), "screening_rule_backing_is_known"),
        ]

    def __str__(self) -> str:
        return self.alert_text

    @property
    def source_text(self) -> str:
        """As it stands beside the alert: "common practice, no source", or the publication."""
        known = Confidence(self.backing)
        if not self.source:
            return known.words
        return self.source if known is Confidence.PUBLISHED else f"{self.source} ({known.words})"


class HistoryQuerySet(models.QuerySet):
    def waiting(self):
        """Begun and neither sent nor replaced."""
        return self.filter(answered_at=None, withdrawn_at=None)

    def answered(self):
        return self.filter(answered_at__isnull=False)


class HistoryForm(models.Model):
    """One time that a patient is asked. Once sent it stays; a patient has one that waits."""

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="histories")
    questionnaire = models.ForeignKey(Questionnaire, on_delete=models.PROTECT, related_name="+")
    way = models.CharField(max_length=6, choices=Way.choices())
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    answered_at = models.DateTimeField(null=True)
    withdrawn_at = models.DateTimeField(null=True)

    objects = HistoryQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-begun_at", "-id"]
        indexes = [models.Index(fields=["patient", "-answered_at"], name="history_of_patient")]
        constraints = [
            models.UniqueConstraint(
                fields=["patient"],
                condition=Q(answered_at=None, withdrawn_at=None),
                name="history_one_waits",
            ),
            models.CheckConstraint(
                condition=Q(answered_at=None) | Q(withdrawn_at=None),
                name="history_sent_or_withdrawn",
            ),
            _known("way", _values(Way), "history_way_is_known"),
        ]

    def __str__(self) -> str:
        return f"Medical history {self.pk}"

    @property
    def is_waiting(self) -> bool:
        return self.answered_at is None and self.withdrawn_at is None


class HistoryAnswer(models.Model):
    """What was said to one question. Rows are only added, and none once the form was sent."""

    form = models.ForeignKey(HistoryForm, on_delete=models.PROTECT, related_name="answers")
    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="+")
    said = models.CharField(max_length=8, choices=Said.choices())
    detail = models.CharField(max_length=DETAIL_LENGTH, blank=True)

    class Meta:
        app_label = "records"
        ordering = ["question__position"]
        constraints = [
            models.UniqueConstraint(fields=["form", "question"], name="history_answer_once"),
            _known("said", _values(Said), "history_answer_is_known"),
        ]

    def __str__(self) -> str:
        return self.get_said_display()

    @property
    def given(self) -> Given:
        return Given(Said(self.said), self.detail)


class HistoryCheck(models.Model):
    """That an injector read a history, or that nothing changed since. Rows are only added."""

    form = models.ForeignKey(HistoryForm, on_delete=models.PROTECT, related_name="checks")
    kind = models.CharField(max_length=17, choices=CheckKind.choices())
    at = models.DateTimeField()
    # Whose sign-in the tablet had, where the patient said it.
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        app_label = "records"
        ordering = ["at", "id"]
        constraints = [_known("kind", _values(CheckKind), "history_check_kind_is_known")]

    def __str__(self) -> str:
        return self.get_kind_display()


class HistoryLink(models.Model):
    """
    The patient's own way to a form: used once, until it expires. The token is made of `reference`
    and kept nowhere but as a digest (records/reminders/tokens.py).
    """

    form = models.OneToOneField(HistoryForm, on_delete=models.PROTECT, related_name="link")
    reference = models.CharField(max_length=32, unique=True)
    token_digest = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    # Forms that came back with something missing: see `services.links.MOST_TRIES`.
    tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"Link of history {self.form_id}"


class RaisedAlert(models.Model):
    """Which answer an alert comes from. Rows are only added; the alert itself is ended."""

    alert = models.OneToOneField(Alert, on_delete=models.PROTECT, related_name="raised_by")
    answer = models.ForeignKey(HistoryAnswer, on_delete=models.PROTECT, related_name="raised")
    rule = models.ForeignKey(ScreeningRule, on_delete=models.PROTECT, related_name="raised")
    # As the rule said at the time; the rule may say otherwise by now.
    source = models.CharField(max_length=240)

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return str(self.alert)
