"""Template context: `clinic_policy`, read only by pages that use it."""

from django.utils.functional import SimpleLazyObject

from clinic.policy.queries import current_policy


def clinic_policy(request) -> dict:
    return {"clinic_policy": SimpleLazyObject(current_policy)}
