"""
What the database itself holds about sessions and points.

- A unit's `drawn` is the sum of its standing points, whoever writes them, and each draw and each
  draw taken back is a row of the stock's ledger.
- A point needs an opened unit on the session's tray; a unit bound to another patient needs a
  written deviation.
- Nothing in quarantine is opened or put on a tray without a written deviation.
- Signed is signed: a signed session, its points, markings, photographs, anaesthesia, tray and
  openings never change.
- A session that was set aside as started by mistake is empty and stays so.
"""

from clinic.database.triggers import Trigger, append_only, guard, refuse

_POINT = "records_injectionentry"
_SESSION = "records_treatmentsession"
_CLOSED = "the session is signed or set aside"
_IS_CLOSED = "OLD.signed_at IS NOT NULL OR OLD.set_aside_at IS NOT NULL"


# What makes a draw another one.
_OTHER_DRAW = (
    "OLD.amount <> NEW.amount OR OLD.unit_id <> NEW.unit_id "
    "OR (OLD.removed_at IS NULL) <> (NEW.removed_at IS NULL)"
)


def _draw(sign: str, row: str, who: str = "NEW") -> str:
    """
    Add or take away `row`'s amount, if the point stands, and write it into the ledger in the name
    of whoever changed the point last, as `who` has it.
    """
    kind = {"+": "drawn", "-": "undrawn"}[sign]
    return (
        f"UPDATE clinic_unitofstock SET drawn = drawn {sign} {row}.amount "
        f"WHERE id = {row}.unit_id AND {row}.removed_at IS NULL; "
        "INSERT INTO clinic_stockmovement (unit_id, kind, amount, reason, witness, at, by_id) "
        f"SELECT {row}.unit_id, '{kind}', {row}.amount, 'Point ' || {row}.number, '', "
        f"COALESCE({who}.changed_at, {who}.logged_at), "
        f"COALESCE({who}.changed_by_id, {who}.logged_by_id) WHERE {row}.removed_at IS NULL; "
    )


def _keep_drawn(event: str, body: str, condition: str = "") -> Trigger:
    return Trigger(
        name=f"{_POINT}_draws_on_{event.split()[0].lower()}",
        table=_POINT,
        when=f"AFTER {event}",
        condition=condition,
        sqlite=body,
        postgresql=body + " RETURN NULL;",
    )


# A removed point counts: something was written in the session.
_NOT_EMPTY = " UNION ALL ".join(
    f"SELECT 1 FROM {rows} AND session_id = NEW.id AND NEW.set_aside_at IS NOT NULL"
    for rows in (
        f"{_POINT} WHERE TRUE",
        "records_sessionunit WHERE TRUE",
        "records_marking WHERE removed_at IS NULL",
        "records_sessionpicture WHERE removed_at IS NULL",
        "records_anaesthesia WHERE removed_at IS NULL",
        "records_timeoutcheck WHERE TRUE",
        "records_occlusion WHERE TRUE",
    )
)


def _signed_guards(table: str) -> tuple[Trigger, ...]:
    """No insert, update or delete of a row whose session is signed, or set aside."""

    def signed(row: str) -> str:
        return (
            f"SELECT 1 FROM {_SESSION} s WHERE s.id = {row}.session_id "
            "AND (s.signed_at IS NOT NULL OR s.set_aside_at IS NOT NULL)"
        )

    return (
        guard(f"{table}_signed_insert", table, "BEFORE INSERT", signed("NEW"), _CLOSED),
        guard(
            f"{table}_signed_update",
            table,
            "BEFORE UPDATE",
            f"{signed('OLD')} UNION ALL {signed('NEW')}",
            _CLOSED,
        ),
        guard(f"{table}_signed_delete", table, "BEFORE DELETE", signed("OLD"), _CLOSED),
    )


_NOT_ON_TRAY = (
    "SELECT 1 WHERE NOT EXISTS (SELECT 1 FROM records_sessionunit t "
    "WHERE t.session_id = NEW.session_id AND t.unit_id = NEW.unit_id)"
)
_QUARANTINED = (
    "SELECT 1 FROM clinic_unitofstock u JOIN clinic_lot l ON l.id = u.lot_id "
    "WHERE u.id = NEW.unit_id AND NEW.deviation = '' "
    "AND (u.quarantined_at IS NOT NULL OR l.quarantined_at IS NOT NULL)"
)
_TRAY_PROBLEM = (
    "SELECT 1 WHERE NOT EXISTS (SELECT 1 FROM records_opening o WHERE o.unit_id = NEW.unit_id) "
    "UNION ALL SELECT 1 FROM records_opening o "
    f"JOIN {_SESSION} s ON s.id = NEW.session_id "
    "WHERE o.unit_id = NEW.unit_id AND o.patient_id <> s.patient_id AND NEW.deviation = ''"
)

TRIGGERS = (
    _keep_drawn("INSERT", _draw("+", "NEW")),
    _keep_drawn("DELETE", _draw("-", "OLD", who="OLD")),
    _keep_drawn(
        "UPDATE OF amount, unit_id, removed_at",
        _draw("-", "OLD") + _draw("+", "NEW"),
        _OTHER_DRAW,
    ),
    guard(
        f"{_POINT}_unit_on_tray", _POINT, "BEFORE INSERT", _NOT_ON_TRAY,
        "the unit is not on the tray of this session",
    ),
    guard(
        f"{_POINT}_new_unit_on_tray", _POINT, "BEFORE UPDATE OF unit_id, session_id", _NOT_ON_TRAY,
        "the unit is not on the tray of this session",
    ),
    guard(
        "records_sessionunit_opened_for_patient", "records_sessionunit", "BEFORE INSERT",
        _TRAY_PROBLEM, "the unit is not open, or open for another patient",
    ),
    guard(
        "records_opening_not_quarantined", "records_opening", "BEFORE INSERT", _QUARANTINED,
        "the unit is in quarantine",
    ),
    guard(
        "records_sessionunit_not_quarantined", "records_sessionunit", "BEFORE INSERT",
        _QUARANTINED, "the unit is in quarantine",
    ),
    *_signed_guards(_POINT),
    *_signed_guards("records_sessionunit"),
    *_signed_guards("records_opening"),
    *_signed_guards("records_marking"),
    *_signed_guards("records_sessionpicture"),
    *_signed_guards("records_anaesthesia"),
    refuse(
        f"{_SESSION}_signed_update", _SESSION, "BEFORE UPDATE", _CLOSED, condition=_IS_CLOSED
    ),
    refuse(
        f"{_SESSION}_signed_delete", _SESSION, "BEFORE DELETE", _CLOSED, condition=_IS_CLOSED
    ),
    guard(
        f"{_SESSION}_set_aside_empty", _SESSION, "BEFORE UPDATE OF set_aside_at", _NOT_EMPTY,
        "the session is not empty",
    ),
    *append_only("records_addendum"),
)  # fmt: skip
