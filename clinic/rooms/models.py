"""Rooms in which patients are seen."""

from django.db import models

from clinic.sites.models import Site


class RoomQuerySet(models.QuerySet):
    def in_use(self):
        return self.filter(is_active=True, site__is_active=True)


class Room(models.Model):
    """A room of one site. Taken out of use, never deleted: visits name it."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="rooms")
    name = models.CharField(max_length=100)
    is_active = models.BooleanField("in use", default=True)

    objects = RoomQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["site__name", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "name"],
                name="room_once_per_site",
                violation_error_message="This site already has a room of this name.",
            )
        ]

    def __str__(self) -> str:
        return self.name
