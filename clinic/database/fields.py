"""Model fields that behave alike on both databases."""

from django.db import models


class FoldedField(models.CharField):
    """
    Text already folded for search, compared byte by byte.

    SQLite compares that way by itself. PostgreSQL follows the language's collation, under which a
    B-tree cannot answer "starts with"; the column therefore asks for the collation "C".
    """

    def db_parameters(self, connection):
        parameters = super().db_parameters(connection)
        if connection.vendor == "postgresql":
            parameters["collation"] = "C"
        return parameters


def prefix_range(field: str, prefix: str) -> models.Q:
    """Rows whose folded `field` starts with `prefix`, as a range that the plain index answers."""
    return models.Q(**{f"{field}__gte": prefix, f"{field}__lt": prefix + "\U0010ffff"})
