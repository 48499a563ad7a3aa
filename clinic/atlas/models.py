"""The clinic's own values in the face atlas; what is supplied stays in the code."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from planning.atlas.guide import WORDED, Change, GuideEntry, Kind, Per, Use
from planning.atlas.regions import Region
from planning.atlas.usual import TOXINS
from planning.sources import Confidence, Source


def _term_fits_kind() -> Q:
    """A plane names a plane, and so on; what is told in words or figures names none."""
    named = [(kind, kind.terms) for kind in Kind]
    fits = Q(term="", kind__in=[kind.value for kind, terms in named if terms is None])
    for kind, terms in named:
        if terms is not None:
            fits |= Q(kind=kind.value, term__in=[term.value for term in terms])
    return fits


_NO_AMOUNT = Q(least__isnull=True, most__isnull=True, per="", substance="")
_IS_AMOUNT = Q(kind=Kind.AMOUNT.value)


class AtlasEntry(models.Model):
    """
    One value of the clinic's own for one region: a new one, one that replaces a supplied key, or
    the withdrawal of a supplied key.

    Amounts are microlitres (filler) or hundredths of a unit (toxin). A withdrawal repeats what it
    withdraws, and its source says why.
    """

    replaces = models.CharField(max_length=80, blank=True, editable=False)
    is_withdrawal = models.BooleanField(default=False, editable=False)
    region = models.CharField(max_length=40, choices=Region.choices())
    kind = models.CharField(max_length=10, choices=Kind.choices())
    use = models.CharField("for", max_length=10, choices=Use.choices(), default=Use.ANY.value)
    term = models.CharField("value", max_length=20, blank=True)
    text = models.CharField(max_length=400, blank=True)
    least = models.PositiveIntegerField(null=True, blank=True)
    most = models.PositiveIntegerField(null=True, blank=True)
    per = models.CharField("counted for", max_length=10, choices=Per.choices(), blank=True)
    substance = models.CharField("toxin", max_length=40, blank=True)
    source_title = models.CharField("source", max_length=200)
    source_detail = models.CharField("what it says", max_length=300)
    trust = models.CharField("how it is known", max_length=20, choices=Confidence.choices())
    changed_at = models.DateTimeField(editable=False)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, editable=False, related_name="+"
    )

    class Meta:
        app_label = "clinic"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["replaces"], condition=~Q(replaces=""), name="atlas_replaced_once"
            ),
            models.UniqueConstraint(
                fields=["region", "use", "substance"],
                condition=_IS_AMOUNT & Q(is_withdrawal=False),
                name="atlas_one_amount",
            ),
            models.CheckConstraint(
                condition=Q(is_withdrawal=False) | ~Q(replaces=""),
                name="atlas_withdrawal_names_its_key",
            ),
            models.CheckConstraint(
                condition=Q(region__in=[region.value for region in Region]),
                name="atlas_region_is_known",
            ),
            models.CheckConstraint(
                condition=Q(use__in=[use.value for use in Use]), name="atlas_use_is_known"
            ),
            models.CheckConstraint(
                condition=Q(trust__in=[known.value for known in Confidence]),
                name="atlas_trust_is_known",
            ),
            # A kind that is not known has no words that fit.
            models.CheckConstraint(condition=_term_fits_kind(), name="atlas_term_fits_kind"),
            models.CheckConstraint(
                condition=~Q(kind__in=[kind.value for kind in WORDED]) | ~Q(text=""),
                name="atlas_words_are_said",
            ),
            models.CheckConstraint(
                condition=(~_IS_AMOUNT & _NO_AMOUNT)
                | _IS_AMOUNT
                & Q(most__isnull=False, most__gt=0)
                & (
                    Q(use=Use.FILLER.value, substance="", per__in=[per.value for per in Per])
                    | Q(use=Use.TOXIN.value, substance__in=list(TOXINS), per=Per.SESSION.value)
                ),
                name="atlas_amount_is_whole",
            ),
            models.CheckConstraint(
                condition=Q(least__isnull=True) | Q(least__gt=0, least__lte=F("most")),
                name="atlas_least_is_below_most",
            ),
            models.CheckConstraint(
                condition=~Q(source_title="") & ~Q(source_detail=""), name="atlas_has_a_source"
            ),
        ]

    def __str__(self) -> str:
        return f"{Region(self.region).label}: {self.get_kind_display().lower()}"

    @property
    def entry(self) -> GuideEntry:
        """The value as the atlas has it."""
        return GuideEntry(
            key=f"clinic.{self.pk}",
            region=Region(self.region),
            kind=Kind(self.kind),
            use=Use(self.use),
            source=Source(self.source_title, self.source_detail, Confidence(self.trust)),
            term=self.term,
            text=self.text,
            least=self.least,
            most=self.most,
            per=Per(self.per) if self.per else None,
            substance=self.substance,
        )

    @property
    def change(self) -> Change:
        return Change(self.entry, self.replaces, self.is_withdrawal, self.pk)
