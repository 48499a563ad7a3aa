"""Passwords that did not fit."""

from django.db import models


class FailedTry(models.Model):
    """
    A password that did not fit, or is being looked at just now.

    `whose` is a digest: a name is counted as it was typed, whether somebody has it or not, and a
    password typed in place of a name is kept nowhere.
    """

    whose = models.CharField(max_length=64)
    address = models.GenericIPAddressField(null=True)
    at = models.DateTimeField()

    class Meta:
        app_label = "clinic"
        indexes = [
            models.Index(fields=["whose", "at"], name="failed_try_by_name"),
            models.Index(fields=["address", "at"], name="failed_try_by_address"),
        ]

    def __str__(self) -> str:
        return f"Failed try of {self.at}"
