"""Another way to `clinic.access.enums`, where the roles live."""

from clinic.access.enums import Role

__all__ = ["Role"]
