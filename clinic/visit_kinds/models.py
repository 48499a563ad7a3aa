"""How long each kind of appointment takes, and where it can be."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from clinic.rooms.models import Room
from clinic.visit_kinds.enums import AppointmentKind

# Times of the diary lie on such marks. Common practice, no source.
STEP_MINUTES = 5
LONGEST_MINUTES = 480
LONGEST_BUFFER_MINUTES = 120


def whole_steps(*names: str) -> Q:
    """The condition that each of these minutes is a multiple of the diary's step."""
    condition = Q()
    for name in names:
        condition &= Q(**{name: F(name) / STEP_MINUTES * STEP_MINUTES})
    return condition


class VisitKind(models.Model):
    """
    What the clinic decided for one kind of appointment; see `queries.visit_kind` for defaults.

    Practitioner and room are taken from `preparation_minutes` before the visit to `buffer_minutes`
    after it, the patient for the visit alone.
    """

    kind = models.CharField(max_length=20, primary_key=True, choices=AppointmentKind.choices())
    minutes = models.PositiveSmallIntegerField(
        "length", validators=[MinValueValidator(STEP_MINUTES), MaxValueValidator(LONGEST_MINUTES)]
    )
    preparation_minutes = models.PositiveSmallIntegerField(
        "preparation before", default=0, validators=[MaxValueValidator(LONGEST_BUFFER_MINUTES)]
    )
    buffer_minutes = models.PositiveSmallIntegerField(
        "buffer after", default=0, validators=[MaxValueValidator(LONGEST_BUFFER_MINUTES)]
    )
    rooms = models.ManyToManyField(
        Room, blank=True, related_name="visit_kinds", help_text="None: it needs no room."
    )
    is_active = models.BooleanField("offered", default=True)

    class Meta:
        app_label = "clinic"
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in AppointmentKind]),
                name="visit_kind_is_known",
            ),
            models.CheckConstraint(
                condition=Q(minutes__gte=STEP_MINUTES, minutes__lte=LONGEST_MINUTES)
                & whole_steps("minutes", "preparation_minutes", "buffer_minutes"),
                name="visit_kind_in_whole_steps",
                violation_error_message=f"Give lengths in steps of {STEP_MINUTES} minutes.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()
