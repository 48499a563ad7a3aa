"""
Who may open a page. Every view says so itself; one that says nothing is closed to all.

    @allow(Role.INJECTOR, Role.OWNER)
    def session_detail(request, pk): ...

A class-based view is wrapped where it is routed, or with
`@method_decorator(allow(...), name="dispatch")`.
"""

from collections.abc import Callable

from clinic.access.enums import Role

PUBLIC = frozenset({"public"})


def allow(*roles: Role) -> Callable:
    """Open the view to staff who hold one of `roles`."""
    if not roles:
        raise ValueError("Name at least one role; use @public for a page without sign-in.")

    def mark(view: Callable) -> Callable:
        view.allowed_roles = frozenset(roles)  # type: ignore[attr-defined]
        return view

    return mark


def public(view: Callable) -> Callable:
    """Open the view to anyone, signed in or not."""
    view.allowed_roles = PUBLIC  # type: ignore[attr-defined]
    return view


EVERYONE = tuple(Role)
CLINICAL = (Role.INJECTOR, Role.OWNER)


def reads_clinical(user) -> bool:
    """Whether a person who is signed in reads clinical detail."""
    return bool(set(user.roles) & set(CLINICAL))
