"""Storing many rows that each became something else."""

from collections.abc import Iterable, Sequence

from django.db import connection

from records.imports.models import ImportRow


def save_rows(rows: Iterable[ImportRow], fields: Sequence[str]) -> None:
    """
    As `bulk_update`, a statement for each row sent at once: the one long statement that Django
    makes of them took four fifths of an import's time.
    """
    by_name = {field.name: field for field in ImportRow._meta.concrete_fields}
    columns = [by_name[name] for name in fields]
    quote = connection.ops.quote_name
    set_to = ", ".join(f"{quote(str(column.column))} = %s" for column in columns)
    table = quote(ImportRow._meta.db_table)
    values = [
        (
            *(
                column.get_db_prep_save(getattr(row, column.attname), connection)
                for column in columns
            ),
            row.pk,
        )
        for row in rows
    ]
    if values:
        with connection.cursor() as cursor:
            cursor.executemany(f"UPDATE {table} SET {set_to} WHERE id = %s", values)  # noqa: S608 our own names
