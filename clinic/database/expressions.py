"""What is asked of a database in its own words."""

from django.db.models import BigIntegerField, Func


class EpochSeconds(Func):
    """
    A moment as whole seconds since 1970 (UTC).

    Where thousands of moments are only counted with, making a datetime of each is most of the work.
    """

    arity = 1
    output_field = BigIntegerField()

    def as_postgresql(self, compiler, connection, **context):
        template = "EXTRACT(EPOCH FROM %(expressions)s)::bigint"
        return self.as_sql(compiler, connection, template=template, **context)

    def as_sqlite(self, compiler, connection, **context):
        template = "CAST(strftime('%%%%s', %(expressions)s) AS INTEGER)"
        return self.as_sql(compiler, connection, template=template, **context)
