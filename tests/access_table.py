"""
Who may open which page: every route's name, the roles, and a sample object for its arguments.

A route that is missing here fails `tests/test_access.py`.
"""

from dataclasses import dataclass, field

from clinic.staff.enums import Role

DESK, INJECTOR, OWNER = Role.FRONT_DESK, Role.INJECTOR, Role.OWNER
ALL = (DESK, INJECTOR, OWNER)
NOBODY_NEEDED = ()


@dataclass(frozen=True)
class Rule:
    """
    Attributes:
        roles: who may; empty for a page without sign-in.
        args: keyword arguments of the route -> "sample.attribute" of `tests.test_access.samples`.
    """

    roles: tuple[Role, ...]
    args: dict[str, str] = field(default_factory=dict)


TABLE: dict[str, Rule] = {
    # staff
    "staff-login": Rule(NOBODY_NEEDED),
    "staff-logout": Rule(ALL),
    # today
    # patients
    # appointments
    # reviews
    # sessions
    # notes
    "note-pdf": Rule((INJECTOR, OWNER), {"pk": "session.pk"}),
    # trace
    "trace": Rule((OWNER,)),
    "trace-csv": Rule((OWNER,), {"pk": "lot.pk"}),
    "trace-pdf": Rule((OWNER,), {"pk": "lot.pk"}),
    # stock
    # audit
    # policy
    # style
    "style-index": Rule((OWNER,)),
}
