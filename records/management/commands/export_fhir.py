"""`manage.py export_fhir RECORD_NUMBER [--out FILE] [--by USERNAME]`"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, CommandParser

from clinic.staff.models import User
from records.interchange.services import hand_out_record
from records.patients.models import Patient


class Command(BaseCommand):
    help = (
        "Writes one patient's whole record as FHIR: a bundle in JSON, by R4B (4.3.0), which stands "
        "in for R4 because the reference library has only that. The audit trail notes who had it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("record_number", help="as on the patient's page, such as P000012")
        parser.add_argument("--out", metavar="FILE", help="a new file; else printed")
        parser.add_argument("--by", metavar="USERNAME", help="who is handed it; else the system")

    def handle(self, *, record_number: str, out: str | None, by: str | None, **options) -> None:
        patient = Patient.objects.filter(record_number=record_number.strip().upper()).first()
        if patient is None:
            raise CommandError(
                f"No patient has the record number {record_number!r}. It is a P and six digits, "
                "such as P000012: copy it from the patient's page."
            )
        actor = None if by is None else self._person(by)
        if out is None:
            self.stdout.write(hand_out_record(patient=patient, actor=actor), ending="")
            return
        self._write(Path(out), patient, actor)

    def _person(self, username: str) -> User:
        try:
            return User.objects.get(username=username, is_active=True)
        except User.DoesNotExist as error:
            raise CommandError(f"--by: nobody who may sign in is called {username!r}.") from error

    def _write(self, out: Path, patient: Patient, actor: User | None) -> None:
        """Readable by its owner alone; an old file is never written over."""
        try:
            out.touch(mode=0o600, exist_ok=False)
        except FileExistsError as error:
            raise CommandError(f"--out: {out} is there already. Name a new file.") from error
        except OSError as error:
            raise CommandError(f"--out: {out} cannot be written: {error.strerror}.") from error
        try:
            out.write_text(hand_out_record(patient=patient, actor=actor), encoding="utf-8")
        except OSError as error:
            out.unlink(missing_ok=True)
            raise CommandError(f"--out: {out} cannot be written: {error.strerror}.") from error
        self.stderr.write(f"The record of {patient.record_number} is in {out}.")
