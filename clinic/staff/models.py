"""Members of staff."""

from typing import ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.db.models import Q

from clinic.access.enums import Role
from clinic.audit.services import acting


class StaffManager(UserManager["User"]):
    """People by user name; `manage.py createsuperuser` adds a clinic's first practice owner."""

    use_in_migrations = False

    def create_superuser(self, username, email=None, password=None, **fields) -> "User":
        with acting(None) as trail:
            fields = {"is_owner": True} | fields
            person = super().create_superuser(username, email, password, **fields)
            after = {name: getattr(person, name) for name in ("full_name", "username", "is_owner")}
            trail.add("staff.saved", person, after=after)
        return person


class User(AbstractUser):
    """A member of staff who signs in. In a small clinic the owner often injects as well."""

    first_name = None  # type: ignore[assignment]
    last_name = None  # type: ignore[assignment]
    full_name = models.CharField("name", max_length=200, help_text="As it is signed on a note.")
    registration_number = models.CharField(
        "professional registration",
        max_length=60,
        blank=True,
        help_text="Register and number, printed beside the signature.",
    )
    is_front_desk = models.BooleanField("front desk", default=False)
    is_injector = models.BooleanField("injector", default=False)
    is_owner = models.BooleanField("practice owner", default=False)

    REQUIRED_FIELDS = ["full_name"]

    objects: ClassVar[StaffManager] = StaffManager()

    class Meta:
        app_label = "clinic"
        ordering = ["full_name", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(is_front_desk=True) | Q(is_injector=True) | Q(is_owner=True),
                name="user_has_a_role",
                violation_error_message="Give this member of staff at least one role.",
            )
        ]

    def __str__(self) -> str:
        return self.full_name

    def get_full_name(self) -> str:
        return self.full_name

    def get_short_name(self) -> str:
        return self.full_name

    @property
    def roles(self) -> frozenset[Role]:
        held = {
            Role.FRONT_DESK: self.is_front_desk,
            Role.INJECTOR: self.is_injector,
            Role.OWNER: self.is_owner,
        }
        return frozenset(role for role, has_it in held.items() if has_it)

    @property
    def role_labels(self) -> list[str]:
        return [role.label for role in Role if role in self.roles]

    @property
    def role_label(self) -> str:
        return ", ".join(self.role_labels)
