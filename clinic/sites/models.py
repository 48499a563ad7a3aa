"""The branches of the clinic."""

from django.db import models


class SiteQuerySet(models.QuerySet):
    def in_use(self):
        return self.filter(is_active=True)

    def has_several(self) -> bool:
        """Whether the clinic has more than one in use, so that a visit's has to be named."""
        return len(self.in_use()[:2]) > 1


class Site(models.Model):
    """A branch at an address of its own. Taken out of use, never deleted: visits name it."""

    name = models.CharField(max_length=100, unique=True)
    address = models.TextField(blank=True, help_text="Told to patients who are booked there.")
    phone = models.CharField(max_length=40, blank=True)
    is_active = models.BooleanField("in use", default=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
