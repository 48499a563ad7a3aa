"""An entry keeps its number and counts upwards; a diary's address dies with the person's access."""

from clinic.database.triggers import Trigger, refuse

ENTRIES, FEEDS, PEOPLE = "records_calendarentry", "records_calendarfeed", "clinic_user"


def _end_feeds(now: str) -> str:
    return f"UPDATE {FEEDS} SET revoked_at = {now} WHERE person_id = NEW.id AND revoked_at IS NULL;"


TRIGGERS = (
    refuse(
        f"{ENTRIES}_counts_upwards", ENTRIES, "BEFORE UPDATE",
        "A calendar entry keeps its number, and its sequence never falls",
        condition="OLD.uid <> NEW.uid OR NEW.sequence < OLD.sequence",
    ),
    refuse(
        f"{FEEDS}_revoked_for_good", FEEDS, "BEFORE UPDATE",
        "A revoked address stays revoked",
        condition="OLD.revoked_at IS NOT NULL",
    ),
    Trigger(
        name=f"{PEOPLE}_leaving_ends_feeds",
        table=PEOPLE,
        when="AFTER UPDATE OF is_active",
        condition="NOT NEW.is_active",
        sqlite=_end_feeds("strftime('%Y-%m-%d %H:%M:%f', 'now')"),
        postgresql=f"{_end_feeds('now()')} RETURN NULL;",
    ),
)  # fmt: skip
