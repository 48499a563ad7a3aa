"""The quick code of one person on one tablet."""

from django.conf import settings
from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q

ITERATIONS = 310_000
SALT_BYTES = 16
KEY_BYTES = 32


class UnlockCode(models.Model):
    """
    What proves that a tablet's signature was made with the person's code.

    The digits never leave the tablet. `key` is PBKDF2-HMAC-SHA256(digits, salt, iterations,
    32 bytes), RFC 8018; the tablet keeps the salt and a check value, never the key itself.
    """

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="unlock_codes")
    device = models.UUIDField(help_text="The number a tablet gave itself.")
    salt = models.CharField(max_length=32, validators=[RegexValidator(r"^[0-9a-f]{32}$")])
    key = models.CharField(max_length=64, validators=[RegexValidator(r"^[0-9a-f]{64}$")])
    iterations = models.PositiveIntegerField(validators=[MinValueValidator(ITERATIONS)])
    made_at = models.DateTimeField()

    class Meta:
        app_label = "clinic"
        constraints = [
            models.UniqueConstraint(fields=["user", "device"], name="one_code_per_user_and_tablet"),
            models.CheckConstraint(
                condition=Q(iterations__gte=ITERATIONS), name="code_is_derived_slowly"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user}, tablet {str(self.device)[:8]}"
