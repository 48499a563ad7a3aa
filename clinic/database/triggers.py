"""
Rules that only a trigger can hold, on SQLite and on PostgreSQL.

A capability lists its rules in its own `triggers.py`; the app's config registers them. They are put
back after every `migrate` and taken away before one that changes something, because SQLite rebuilds
a table to change it and silently drops the triggers on it. A test compares the names in the
database with this list.
"""

from dataclasses import dataclass

from django.db import connections, transaction


@dataclass(frozen=True)
class Trigger:
    """
    One rule on one table.

    Attributes:
        when: "BEFORE UPDATE", "AFTER INSERT" and so on, as both databases write it.
        sqlite: the statements between BEGIN and END.
        postgresql: the body of a PL/pgSQL function between BEGIN and END, RETURN included.
        condition: optional WHEN clause over OLD and NEW, in SQL that both databases read.
        per_row: false for PostgreSQL's statement triggers (TRUNCATE); SQLite has none, so
            a trigger with `sqlite=""` exists on PostgreSQL alone, and the other way round.
    """

    name: str
    table: str
    when: str
    sqlite: str = ""
    postgresql: str = ""
    condition: str = ""
    per_row: bool = True

    def body_for(self, vendor: str) -> str:
        return self.sqlite if vendor == "sqlite" else self.postgresql

    def create_statements(self, vendor: str) -> list[str]:
        """SQL that makes the trigger; empty when the rule is not for this database."""
        if not self.body_for(vendor):
            return []
        condition = f"WHEN ({self.condition})" if self.condition else ""
        if vendor == "sqlite":
            return [
                f"CREATE TRIGGER {self.name} {self.when} ON {self.table} "
                f"FOR EACH ROW {condition} BEGIN {self.sqlite} END"
            ]
        level = "ROW" if self.per_row else "STATEMENT"
        return [
            f"CREATE OR REPLACE FUNCTION {self.name}() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN {self.postgresql} END $$",
            f"CREATE TRIGGER {self.name} {self.when} ON {self.table} "
            f"FOR EACH {level} {condition} EXECUTE FUNCTION {self.name}()",
        ]

    def drop_statements(self, vendor: str) -> list[str]:
        if not self.body_for(vendor):
            return []
        if vendor == "sqlite":
            return [f"DROP TRIGGER IF EXISTS {self.name}"]
        return [f"DROP TRIGGER IF EXISTS {self.name} ON {self.table}"]


def refuse(name: str, table: str, when: str, message: str, condition: str = "") -> Trigger:
    """A trigger that answers any such statement with an IntegrityError saying `message`."""
    quoted = message.replace("'", "''")
    return Trigger(
        name=name,
        table=table,
        when=when,
        condition=condition,
        sqlite=f"SELECT RAISE(ABORT, '{quoted}');",
        postgresql=f"RAISE EXCEPTION '{quoted}' USING ERRCODE = 'check_violation';",
    )


def guard(name: str, table: str, when: str, problem: str, message: str) -> Trigger:
    """
    Refuse the statement when `problem`, a SELECT over OLD and NEW, finds a row.

    BEFORE INSERT and BEFORE UPDATE on SQLite run before the row is there, as on PostgreSQL.
    """
    result = "OLD" if "DELETE" in when else "NEW"
    return Trigger(
        name=name,
        table=table,
        when=when,
        sqlite=f"SELECT RAISE(ABORT, '{message}') WHERE EXISTS ({problem});",
        postgresql=(
            f"IF EXISTS ({problem}) THEN RAISE EXCEPTION '{message}' "
            f"USING ERRCODE = 'check_violation'; END IF; RETURN {result};"
        ),
    )


def append_only(table: str) -> tuple[Trigger, ...]:
    """Rows of `table` may only be added."""
    message = f"{table} is append-only"
    return (
        refuse(f"{table}_no_update", table, "BEFORE UPDATE", message),
        refuse(f"{table}_no_delete", table, "BEFORE DELETE", message),
        *never_emptied(table, message),
    )


def never_emptied(table: str, message: str) -> tuple[Trigger, ...]:
    """
    Two ways round a rule against deleting, closed: SQLite's INSERT OR REPLACE (it removes the old
    row without a DELETE trigger unless recursive_triggers is on), and PostgreSQL's TRUNCATE.
    """
    truncate = Trigger(
        name=f"{table}_no_truncate",
        table=table,
        when="BEFORE TRUNCATE",
        postgresql=f"RAISE EXCEPTION '{message}' USING ERRCODE = 'check_violation';",
        per_row=False,
    )
    replace = Trigger(
        name=f"{table}_no_replace",
        table=table,
        when="BEFORE INSERT",
        condition=f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)",
        sqlite=f"SELECT RAISE(ABORT, '{message}');",
    )
    return truncate, replace


_registered: list[Trigger] = []


def register(*triggers: Trigger) -> None:
    """Add rules to those kept in the database (called by the apps when they are ready)."""
    known = {trigger.name for trigger in _registered}
    _registered.extend(trigger for trigger in triggers if trigger.name not in known)


def _run(connection, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def install_all(connection) -> None:
    """Put every registered trigger in place, those of tables that exist."""
    drop_all(connection)
    tables = set(connection.introspection.table_names())
    for trigger in _registered:
        if trigger.table in tables:
            _run(connection, trigger.create_statements(connection.vendor))


def drop_all(connection) -> None:
    """Take every registered trigger away (before a migration, and for a test's clean-up)."""
    tables = set(connection.introspection.table_names())
    for trigger in _registered:
        if trigger.table in tables:
            _run(connection, trigger.drop_statements(connection.vendor))


def expected_names(vendor: str) -> set[str]:
    return {trigger.name for trigger in _registered if trigger.body_for(vendor)}


def installed_names(connection) -> set[str]:
    """Names of the triggers the database has, our own ones."""
    query = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {row[0] for row in cursor.fetchall()}


def drop_before_migrate(sender, using, plan, **kwargs) -> None:
    if plan:
        drop_all(connections[using])


def install_after_migrate(sender, using, **kwargs) -> None:
    """In one piece: whoever writes meanwhile meets the rules of before or those of now."""
    with transaction.atomic(using=using):
        install_all(connections[using])
