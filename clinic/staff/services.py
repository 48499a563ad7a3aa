"""
Writes to members of staff. Each act is one transaction with its audit event; a password never
reaches the trail, only that one was set.
"""

from clinic.audit.services import acting, changes, snapshot
from clinic.sign_in.services import forget_tries
from clinic.staff.errors import StaffError
from clinic.staff.models import User

STAFF_FIELDS = [
    "full_name", "username", "registration_number", "is_front_desk", "is_injector", "is_owner",
    "is_active",
]  # fmt: skip


def save_member(*, member: User, actor, password: str = "") -> User:
    """
    Add or change a member of staff. A deactivated one is signed out with the next click.

    Args:
        password: empty keeps the present one; a new member without one cannot sign in.

    Raises:
        StaffError: the actor would lose their own owner role or access, or no active owner would
            remain.
    """
    with acting(actor) as trail:
        # All owners, so that two who demote one another at once do not both succeed.
        owners = User.objects.select_for_update().filter(is_owner=True, is_active=True)
        others = [owner.pk for owner in owners.order_by("pk") if owner.pk != member.pk]
        stored = User.objects.select_for_update().filter(pk=member.pk).first()
        before = snapshot(stored, STAFF_FIELDS) if stored else {}
        if stored:
            _refuse_lock_out(stored, member, actor, others)
        if password:
            member.set_password(password)
        elif not stored:
            member.set_unusable_password()
        member.save()
        before, after = changes(before, snapshot(member, STAFF_FIELDS))
        if after:
            trail.add("staff.saved", member, before=before, after=after)
        if password:
            trail.add("staff.password_set", member)
            forget_tries(member)
    return member


def _refuse_lock_out(stored: User, member: User, actor, other_owners: list[int]) -> None:
    loses_owner = stored.is_owner and not member.is_owner
    loses_access = stored.is_active and not member.is_active
    if actor is not None and stored.pk == actor.pk:
        if loses_owner:
            raise StaffError(
                "You cannot take away your own role as practice owner. Ask another owner to."
            )
        if loses_access:
            raise StaffError("You cannot deactivate yourself. Ask another owner to.")
    if stored.is_owner and (loses_owner or loses_access) and not other_owners:
        raise StaffError(
            f"{stored.full_name} is the last active practice owner. Give the role to somebody else "
            "first."
        )


def change_own_password(*, member: User, password: str) -> None:
    """Set one's own password; other sessions of the same person end with their next click."""
    with acting(member) as trail:
        member.set_password(password)
        member.save(update_fields=["password"])
        trail.add("staff.password_set", member)
