"""Another way to `clinic.access.rules`, where the rules live."""

from clinic.access.rules import CLINICAL, EVERYONE, PUBLIC, allow, public

__all__ = ["CLINICAL", "EVERYONE", "PUBLIC", "allow", "public"]
