"""
Treatment sessions and their injection entries ("points").

Until it is signed a session can be worked on; afterwards triggers refuse every change of it and of
what hangs on it, and only addenda are added. Points carry an id made where they were tapped, so
that sending one twice stores it once.
"""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.stock.models import UnitOfStock
from planning.amounts import plain_number
from planning.atlas.calibration import Calibration
from planning.atlas.regions import Region
from planning.vocabulary import (
    Aspiration,
    Instrument,
    Jaw,
    Measure,
    Plane,
    Side,
    Technique,
    View,
)  # fmt: skip
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.sessions.enums import Remainder
from records.sessions.storage import private_pictures

# Tenths of a millimetre. From a small child to beyond the largest adult on record: the bounds catch
# a slip of the finger (common practice, no source) and grade nobody.
MEASURES_DMM = {
    "pupil_dmm": (300, 900),
    "face_height_dmm": (600, 1800),
    "face_width_dmm": (800, 2000),
}


def _measure_in_range(field: str) -> models.CheckConstraint:
    least, most = MEASURES_DMM[field]
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__range": (least, most)}),
        name=f"session_{field}_in_range",
    )


class SessionQuerySet(models.QuerySet):
    def unsigned(self):
        return self.filter(signed_at__isnull=True)

    def signed(self):
        return self.filter(signed_at__isnull=False)


class TreatmentSession(models.Model):
    """
    One sitting in which products are injected.

    `key` is made where the session was started, which may be a tablet without network. `head` is
    the id of the last operation on the session itself, null when none came from a tablet.
    The measures are the patient's own, in tenths of a millimetre; the drawing is scaled to them.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    head = models.UUIDField(null=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="sessions")
    injector = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sessions"
    )
    appointment = models.OneToOneField(
        Appointment, on_delete=models.PROTECT, null=True, related_name="session"
    )
    started_at = models.DateTimeField("treated at")
    late_reason = models.CharField(
        "written down later because", max_length=300, blank=True,
        help_text="Needed when the treatment was not today.",
    )  # fmt: skip
    created_at = models.DateTimeField(auto_now_add=True)
    jaw = models.CharField(max_length=10, choices=Jaw.choices(), default=Jaw.AVERAGE)
    pupil_dmm = models.PositiveSmallIntegerField("between the pupils", null=True, blank=True)
    face_height_dmm = models.PositiveSmallIntegerField("face height", null=True, blank=True)
    face_width_dmm = models.PositiveSmallIntegerField("face width", null=True, blank=True)
    note = models.TextField(blank=True)
    signed_at = models.DateTimeField(null=True, editable=False)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    signed_name = models.CharField(max_length=300, blank=True, editable=False)
    # When the hand signed, if it did so on a tablet whose signature arrived later.
    signature_made_at = models.DateTimeField(null=True, editable=False)
    # SHA-256 over the canonical content, so that a printed note can be compared with the record.
    signed_digest = models.CharField(max_length=64, blank=True, editable=False)

    objects = SessionQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-started_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True, signed_by__isnull=True)
                | Q(signed_at__isnull=False, signed_by__isnull=False),
                name="session_signed_by_somebody",
            ),
            models.UniqueConstraint(
                fields=["patient"],
                condition=Q(signed_at__isnull=True),
                name="session_one_open_per_patient",
                violation_error_message="This patient has an unsigned session: finish that first.",
            ),
            *(_measure_in_range(field) for field in MEASURES_DMM),
        ]
        indexes = [models.Index(fields=["started_at"], name="session_by_start")]

    def __str__(self) -> str:
        return f"Session {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def is_signed(self) -> bool:
        return self.signed_at is not None


class Opening(models.Model):
    """
    The opening of a unit of stock: once, in one session.

    `patient` is the one the unit is bound to; empty for a vial the clinic shares, which then
    carries how it was made up and until when it may be used.
    """

    unit = models.OneToOneField(
        UnitOfStock, on_delete=models.PROTECT, primary_key=True, related_name="opening"
    )
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="openings")
    patient = models.ForeignKey(
        Patient, on_delete=models.PROTECT, null=True, related_name="bound_units"
    )
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    diluent_ul = models.PositiveIntegerField("diluent", null=True, blank=True)
    use_before = models.DateTimeField(null=True, blank=True)
    deviation = models.CharField(
        max_length=300, blank=True,
        help_text="Why a unit was used that the clinic would have refused.",
    )  # fmt: skip

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"{self.unit_id} opened {self.opened_at:%Y-%m-%d %H:%M}"


class SessionUnit(models.Model):
    """A unit of stock on the tray of a session, and what became of its remainder."""

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="tray")
    unit = models.ForeignKey(UnitOfStock, on_delete=models.PROTECT, related_name="trays")
    deviation = models.CharField(max_length=300, blank=True)
    remainder = models.CharField(max_length=10, choices=Remainder.choices(), blank=True)
    remainder_amount = models.PositiveBigIntegerField(null=True)

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["session", "unit"], name="unit_once_per_session")
        ]

    def __str__(self) -> str:
        return f"{self.unit_id} in session {self.session_id}"


class StandingQuerySet(models.QuerySet):
    def standing(self):
        """Those that were not removed."""
        return self.filter(removed_at__isnull=True)


class SessionPicture(models.Model):
    """
    The patient's own photograph of one session, to put points on.

    Two places in it (pixels of the stored file, origin top left) of known distance, in tenths of a
    millimetre, give its scale; all five values or none. `on_pupils`: they are both pupils, so that
    the front chart can suggest region and side.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="pictures")
    file = models.FileField(storage=private_pictures)
    width = models.PositiveIntegerField(help_text="Pixels.")
    height = models.PositiveIntegerField(help_text="Pixels.")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the stored bytes.")
    # Tells the same picture sent again from another one under its key.
    sent_digest = models.CharField(max_length=64, help_text="SHA-256 of the bytes that were sent.")
    x1 = models.PositiveIntegerField(null=True)
    y1 = models.PositiveIntegerField(null=True)
    x2 = models.PositiveIntegerField(null=True)
    y2 = models.PositiveIntegerField(null=True)
    distance_dmm = models.PositiveIntegerField(null=True)
    on_pupils = models.BooleanField(
        default=False, help_text="The two places are the pupils, seen from the front."
    )
    taken_at = models.DateTimeField(help_text="By the clock of the device.")
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)
    head = models.UUIDField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0), name="picture_has_a_size"
            ),
            models.CheckConstraint(
                condition=Q(
                    x1__isnull=True, y1__isnull=True, x2__isnull=True, y2__isnull=True,
                    distance_dmm__isnull=True,
                )
                | (
                    Q(
                        x1__isnull=False, y1__isnull=False, x2__isnull=False, y2__isnull=False,
                        distance_dmm__isnull=False, distance_dmm__gt=0,
                    )
                    & ~Q(x1=F("x2"), y1=F("y2"))
                ),
                name="picture_scale_whole",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"Photograph {self.key}"

    @property
    def is_calibrated(self) -> bool:
        return self.distance_dmm is not None

    @property
    def scale(self) -> Calibration | None:
        """None as long as nobody gave it one."""
        numbers = (self.x1, self.y1, self.x2, self.y2, self.distance_dmm)
        whole = [number for number in numbers if number is not None]
        return Calibration(*whole) if len(whole) == len(numbers) else None


class Marking(models.Model):
    """A place marked on the face before injecting; `InjectionEntry.marking` ticks it off."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="markings")
    view = models.CharField(max_length=10, choices=View.choices())
    x_dmm = models.SmallIntegerField()
    y_dmm = models.SmallIntegerField()
    chart_version = models.CharField(max_length=10)
    region = models.CharField(max_length=40)
    side = models.CharField(max_length=10, choices=Side.choices())
    marked_at = models.DateTimeField(help_text="By the clock of the device.")
    marked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)
    head = models.UUIDField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(view__in=[view.value for view in View if view.is_drawn]),
                name="marking_on_a_drawing",
            ),
            models.CheckConstraint(
                condition=Q(side__in=[side.value for side in Side]), name="marking_side_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"Marking {self.region} {self.side}"


def _known(field: str, words) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{field}__in": [word.value for word in words]}),
        name=f"point_{field}_is_known",
    )


class InjectionEntry(models.Model):
    """
    One bolus, thread, fan or micro-droplet series at one place.

    `x_dmm` and `y_dmm` are tenths of a millimetre on the chart of `chart_version`, origin at the
    nasion, y downwards; `relative_x_permille` and `relative_y_permille` say where in its region's
    box the point lies, so that a redrawn outline never moves it. On a photograph the millimetres
    are the photograph's own, origin top left. `reach_x_dmm` and `reach_y_dmm` say where a fan or
    thread ends. `amount` is in the product's base unit. `head` is the last operation on the point,
    null when none came from a tablet. A removed point stays as a row, so that sending it again does
    not bring it back.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, help_text="Made where it was tapped.")
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="points")
    head = models.UUIDField(null=True, editable=False)
    number = models.PositiveSmallIntegerField()
    # No index of its own: `point_by_unit` begins with the unit.
    unit = models.ForeignKey(
        UnitOfStock, on_delete=models.PROTECT, related_name="points", db_index=False
    )
    view = models.CharField(max_length=10, choices=View.choices())
    x_dmm = models.SmallIntegerField()
    y_dmm = models.SmallIntegerField()
    reach_x_dmm = models.SmallIntegerField(null=True, blank=True)
    reach_y_dmm = models.SmallIntegerField(null=True, blank=True)
    picture = models.ForeignKey(
        SessionPicture, on_delete=models.PROTECT, null=True, blank=True, related_name="points"
    )
    marking = models.ForeignKey(
        Marking, on_delete=models.PROTECT, null=True, blank=True, related_name="points",
        help_text="The place marked beforehand that this point ticks off.",
    )  # fmt: skip
    chart_version = models.CharField(max_length=10)
    region = models.CharField(max_length=40)
    side = models.CharField(max_length=10, choices=Side.choices())
    relative_x_permille = models.SmallIntegerField()
    relative_y_permille = models.SmallIntegerField()
    plane = models.CharField(max_length=20, choices=Plane.choices())
    technique = models.CharField(max_length=20, choices=Technique.choices())
    instrument = models.CharField(max_length=10, choices=Instrument.choices())
    gauge = models.PositiveSmallIntegerField(null=True, blank=True)
    length_mm = models.PositiveSmallIntegerField("length", null=True, blank=True)
    aspiration = models.CharField(max_length=10, choices=Aspiration.choices())
    amount = models.PositiveBigIntegerField()
    deviation = models.CharField(max_length=300, blank=True)
    tapped_at = models.DateTimeField(help_text="By the clock of the device.")
    logged_at = models.DateTimeField(auto_now_add=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["session", "number"], name="point_number_once"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="point_amount_positive"),
            models.CheckConstraint(
                condition=Q(reach_x_dmm__isnull=True, reach_y_dmm__isnull=True)
                | Q(reach_x_dmm__isnull=False, reach_y_dmm__isnull=False),
                name="point_reach_whole",
            ),
            models.CheckConstraint(
                condition=Q(view=View.PICTURE.value, picture__isnull=False)
                | (~Q(view=View.PICTURE.value) & Q(picture__isnull=True)),
                name="point_picture_with_its_view",
            ),
            _known("view", View),
            _known("side", Side),
            _known("plane", Plane),
            _known("technique", Technique),
            _known("instrument", Instrument),
            _known("aspiration", Aspiration),
        ]
        indexes = [
            # The lot trace: unit of stock -> points. Covers the join to the session.
            models.Index(fields=["unit", "session"], name="point_by_unit"),
        ]

    def __str__(self) -> str:
        return f"Point {self.number}"

    @property
    def measure(self) -> Measure:
        return self.unit.measure

    @property
    def plain_amount(self) -> str:
        """The number alone, as it is typed into a form."""
        return plain_number(self.amount, Measure(self.measure))

    @property
    def region_label(self) -> str:
        return Region(self.region).label

    @property
    def instrument_text(self) -> str:
        """ "Needle 27 G, 13 mm", as far as it was noted."""
        text = self.get_instrument_display()
        if self.gauge:
            text += f" {self.gauge} G"
        return f"{text}, {self.length_mm} mm" if self.length_mm else text


class Addendum(models.Model):
    """What is added to a signed session: who, when, why. Never changed."""

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="addenda")
    point = models.ForeignKey(
        InjectionEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="addenda",
        help_text="The point it concerns, if it is about one.",
    )  # fmt: skip
    reason = models.CharField(max_length=300, help_text="Why the note needs it.")
    text = models.TextField()
    written_at = models.DateTimeField()
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason="") & ~Q(text=""), name="addendum_says_what_and_why"
            )
        ]

    def __str__(self) -> str:
        return f"Addendum {self.written_at:%Y-%m-%d %H:%M}"
