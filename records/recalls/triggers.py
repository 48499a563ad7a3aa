"""
What the database itself holds about recall cases.

- Closed is closed: a closed case, and what hangs on it, never changes. Only its report is added.
- In a drill nobody is contacted, no mailing leaves and no unit leaves the stock.
- Contacts, notice files and reports only grow; nobody is taken off the call list.
"""

from clinic.database.triggers import append_only, guard, refuse

_CASE = "records_recallcase"
_CLOSED = "the recall case is closed"


def _closed(case_id: str) -> str:
    return f"SELECT 1 FROM {_CASE} c WHERE c.id = {case_id} AND c.closed_at IS NOT NULL"


def _of_person(row: str) -> str:
    return f"(SELECT p.case_id FROM records_casepatient p WHERE p.id = {row}.person_id)"


def _closed_guards(table: str, *, by_person: bool = False):
    def case_of(row: str) -> str:
        return _of_person(row) if by_person else f"{row}.case_id"

    return tuple(
        guard(f"{table}_closed_{name}", table, f"BEFORE {name.upper()}", _closed(case_of(row)),
              _CLOSED)
        for name, row in (("insert", "NEW"), ("update", "OLD"), ("delete", "OLD"))
    )  # fmt: skip


_CONTACT_IN_DRILL = f"SELECT 1 FROM {_CASE} c WHERE c.id = {_of_person('NEW')} AND c.is_drill"
_LEFT_IN_DRILL = (
    f"SELECT 1 FROM {_CASE} c WHERE c.id = NEW.case_id AND c.is_drill "
    "AND NEW.movement_id IS NOT NULL"
)
_BOOKED_IN_DRILL = (
    f"SELECT 1 FROM {_CASE} c WHERE c.id = NEW.case_id AND c.is_drill "
    "AND NEW.appointment_id IS NOT NULL"
)
_QUARANTINE_IN_DRILL = (
    f"SELECT 1 FROM {_CASE} c WHERE c.id = NEW.case_id AND c.is_drill "
    "AND NEW.quarantine_id IS NOT NULL"
)
_MAILING_IN_DRILL = (
    f"SELECT 1 FROM {_CASE} c JOIN records_mailing m ON m.id = NEW.mailing_id "
    "WHERE c.id = NEW.case_id AND c.is_drill AND NOT m.is_rehearsal"
)

TRIGGERS = (
    refuse(
        f"{_CASE}_closed_update", _CASE, "BEFORE UPDATE", _CLOSED,
        condition="OLD.closed_at IS NOT NULL",
    ),
    refuse(
        f"{_CASE}_once_a_drill", _CASE, "BEFORE UPDATE", "a drill stays a drill",
        condition="OLD.is_drill <> NEW.is_drill",
    ),
    refuse(f"{_CASE}_kept", _CASE, "BEFORE DELETE", "a recall case stays in the books"),
    refuse(
        "records_casepatient_kept", "records_casepatient", "BEFORE DELETE",
        "nobody is taken off the call list",
    ),
    guard(
        "records_casecontact_not_in_drill", "records_casecontact", "BEFORE INSERT",
        _CONTACT_IN_DRILL, "nobody is contacted in a drill",
    ),
    guard(
        "records_caseunit_stays_in_drill", "records_caseunit", "BEFORE INSERT", _LEFT_IN_DRILL,
        "nothing leaves the stock in a drill",
    ),
    guard(
        "records_caseunit_stays_in_drill_later", "records_caseunit", "BEFORE UPDATE",
        _LEFT_IN_DRILL, "nothing leaves the stock in a drill",
    ),
    guard(
        "records_casespan_not_held_in_drill", "records_casespan", "BEFORE INSERT",
        _QUARANTINE_IN_DRILL, "nothing is stopped in a drill",
    ),
    guard(
        "records_casespan_not_held_in_drill_later", "records_casespan", "BEFORE UPDATE",
        _QUARANTINE_IN_DRILL, "nothing is stopped in a drill",
    ),
    guard(
        "records_casepatient_not_booked_in_drill", "records_casepatient", "BEFORE UPDATE",
        _BOOKED_IN_DRILL, "nobody is called in for a drill",
    ),
    guard(
        "records_casemailing_rehearses_in_drill", "records_casemailing", "BEFORE INSERT",
        _MAILING_IN_DRILL, "no mailing leaves in a drill",
    ),
    *_closed_guards("records_casespan"),
    *_closed_guards("records_casepatient"),
    *_closed_guards("records_casecontact", by_person=True),
    *_closed_guards("records_casecheck", by_person=True),
    *_closed_guards("records_caseunit"),
    *_closed_guards("records_caseevent"),
    *_closed_guards("records_casemailing"),
    *_closed_guards("records_noticefile"),
    *append_only("records_casecontact"),
    *append_only("records_noticefile"),
    *append_only("records_casereport"),
)  # fmt: skip
