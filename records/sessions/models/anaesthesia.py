"""Anaesthesia beside the products that are injected for the treatment."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.amounts import format_amount
from planning.lidocaine import LidocaineSource
from planning.lidocaine_strength import format_strength
from planning.vocabulary import AnaesthesiaMethod, Measure
from records.sessions.models.places import StandingQuerySet
from records.sessions.models.sittings import TreatmentSession


class Anaesthesia(models.Model):
    """
    One anaesthetic given in a session: on the skin, around the place, or to a nerve.

    A cream is weighed: one gram of 5 % holds as much lidocaine as one millilitre of 5 %, so
    `volume_ul` takes grams as millilitres. `lidocaine_ug_per_ml` is 0 for one without lidocaine.
    `key` and `head` as of a point. A removed one stays as a row.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, related_name="anaesthesia"
    )
    method = models.CharField("how", max_length=20, choices=AnaesthesiaMethod.choices())
    product = models.CharField(max_length=200)
    lidocaine_ug_per_ml = models.PositiveIntegerField("lidocaine", default=0)
    with_epinephrine = models.BooleanField(default=False)
    volume_ul = models.PositiveIntegerField("amount")
    given_at = models.DateTimeField()
    logged_at = models.DateTimeField(auto_now_add=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)
    head = models.UUIDField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        verbose_name_plural = "anaesthesia"
        constraints = [
            models.CheckConstraint(
                condition=Q(method__in=[method.value for method in AnaesthesiaMethod]),
                name="anaesthesia_method_is_known",
            ),
            models.CheckConstraint(
                condition=Q(volume_ul__gt=0), name="anaesthesia_amount_positive"
            ),
            models.CheckConstraint(condition=~Q(product=""), name="anaesthesia_names_the_product"),
        ]

    def __str__(self) -> str:
        return f"{self.get_method_display()}: {self.product}"

    @property
    def amount_text(self) -> str:
        """ "2 mL", or "2 mL or g" of what is put on the skin."""
        text = format_amount(self.volume_ul, Measure.VOLUME, no_break=True)
        return f"{text} or g" if self.method == AnaesthesiaMethod.TOPICAL else text

    @property
    def strength_text(self) -> str:
        """ "lidocaine 2 % (20 mg/mL), with epinephrine"."""
        lidocaine = format_strength(self.lidocaine_ug_per_ml)
        text = f"lidocaine {lidocaine}" if self.lidocaine_ug_per_ml else "no lidocaine"
        return f"{text}, with epinephrine" if self.with_epinephrine else text

    @property
    def as_source(self) -> LidocaineSource:
        """As the planning service adds it up."""
        return LidocaineSource(
            self.product, self.volume_ul, self.lidocaine_ug_per_ml, self.with_epinephrine
        )
