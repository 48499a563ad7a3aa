"""`manage.py export_fhir`"""

import errno
import json
import os
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from clinic.audit.models import AuditEvent
from tests.factories import make_patient


@pytest.fixture
def patient(desk):
    return make_patient(desk, "Zoë Example")


def test_the_record_is_printed_and_the_trail_says_that_a_command_had_it(patient, capsys):
    call_command("export_fhir", patient.record_number)
    bundle = json.loads(capsys.readouterr().out)
    assert (bundle["resourceType"], bundle["type"]) == ("Bundle", "collection")
    assert bundle["entry"][0]["resource"]["name"][0]["text"] == "Zoë Example"
    event = AuditEvent.objects.first()
    assert (event.action, event.actor, event.patient_id) == (
        "patient.record_exported", None, patient.pk,
    )  # fmt: skip


def test_the_trail_names_the_person_it_was_handed_to(patient, owner, capsys):
    call_command("export_fhir", patient.record_number.lower(), by=owner.username)
    assert json.loads(capsys.readouterr().out)["resourceType"] == "Bundle"
    assert AuditEvent.objects.first().actor == owner


def test_a_file_is_its_owners_alone_and_never_written_over(patient, tmp_path, capsys):
    out = tmp_path / "record.json"
    call_command("export_fhir", patient.record_number, out=str(out))
    assert json.loads(out.read_text(encoding="utf-8"))["resourceType"] == "Bundle"
    assert out.stat().st_mode & 0o777 == 0o600
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == f"The record of {patient.record_number} is in {out}.\n"
    before = AuditEvent.objects.count()
    with pytest.raises(CommandError, match="is there already"):
        call_command("export_fhir", patient.record_number, out=str(out))
    assert AuditEvent.objects.count() == before


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"record_number": "P999999"}, "No patient has the record number 'P999999'.*P000012"),
        ({"by": "nobody"}, "--by: nobody who may sign in is called 'nobody'"),
        # A script with an empty variable: not "the system".
        ({"by": ""}, "--by: nobody who may sign in is called ''"),
        ({"out": "/nowhere/record.json"}, "cannot be written: No such file or directory"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_handed_out(patient, arguments, said, capsys):
    number = arguments.pop("record_number", patient.record_number)
    before = AuditEvent.objects.count()
    with pytest.raises(CommandError, match=said):
        call_command("export_fhir", number, **arguments)
    assert capsys.readouterr().out == ""
    assert AuditEvent.objects.count() == before


def test_a_full_disk_leaves_no_half_of_a_record(patient, tmp_path, monkeypatch):
    def write_text(*args, **how) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "write_text", write_text)
    out = tmp_path / "record.json"
    with pytest.raises(CommandError, match="cannot be written: No space left on device"):
        call_command("export_fhir", patient.record_number, out=str(out))
    assert not out.exists()
