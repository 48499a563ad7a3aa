"""Django's own command, for one process at a time."""

from django.core.management.commands import migrate
from django.db import connections

from clinic.database.migrating import migrating_alone


class Command(migrate.Command):
    def execute(self, *args: object, **options: object) -> str | None:
        """Alone from its checks on, which ask the database too."""
        connection = connections[str(options["database"])]
        with migrating_alone(connection, self._say_that_it_waits):
            return super().execute(*args, **options)

    def _say_that_it_waits(self) -> None:
        self.stderr.write("Another migration of this database is running; this one waits for it.")
