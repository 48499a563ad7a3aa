"""`manage.py trace_lot`"""

import csv
import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from clinic.audit.models import AuditEvent
from records.trace.exports import trace_as_json
from records.trace.queries import trace_rows


def run(*arguments: str) -> str:
    out = StringIO()
    call_command("trace_lot", *arguments, stdout=out)
    return out.getvalue()


def test_json_is_the_trace(lot):
    assert json.loads(run("LOT42", "--format", "json")) == trace_as_json(lot, trace_rows(lot))


def test_csv_has_a_line_for_each_point(lot):
    lines = list(csv.DictReader(StringIO(run("LOT42", "--format", "csv"), newline="")))
    assert [line["amount"] for line in lines] == ["0.2", "0.3", "0.5"]


def test_table_is_the_default_and_ends_with_the_sum(lot):
    lines = run("LOT42").splitlines()
    assert len(lines) == 5
    assert "Ann Example" in lines[1]
    assert "0.2 mL" in lines[1]
    assert lines[-1] == "HA filler 1 mL LOT42: 2 patients, 2 sessions, 3 points, 1 mL"


def test_the_table_s_head_stands_over_its_columns(lot):
    head, first, *_ = run("LOT42").splitlines()
    label = lot.units.order_by("id")[0].label
    for column, value in [("Patient", "Ann Example"), ("Region", "Zygomatic"), ("Side", "left"),
                          ("Plane", "supraperiosteal"), ("Unit", label),
                          ("Injector", "Ida Injector")]:  # fmt: skip
        assert head.index(column) == first.index(value)
    assert head.index("Amount") + len("Amount") == first.index("0.2 mL") + len("0.2 mL")
    assert head.startswith("Date")


def test_csv_of_the_command_begins_with_the_first_column(lot):
    """No byte order mark: it goes to programs, which would take it for a part of the name."""
    assert run("LOT42", "--format", "csv").startswith("product,gtin,lot,expiry,record_number,")


def test_gtin_chooses_and_may_be_typed_short(lot, namesake):
    answer = json.loads(run("LOT42", "--gtin", "9521234543213", "--format", "json"))
    assert answer["product"] == "HA filler 1 mL"
    assert len(answer["patients"]) == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["LOT43"], "No lot LOT43 is on record"),
        (["lot42"], "Easily taken for it: LOT42. Compare with the box"),
        (["LOT42"], "several products.*09520000000004.*Add the GTIN"),
        (["LOT42", "--gtin", "9521234543210"], "last digit of this GTIN should be 3, not 0"),
        (["LOT42", "--gtin", "LOT42"], "GTIN"),
    ],
)
def test_what_cannot_be_traced_is_said_in_a_sentence(lot, namesake, arguments, words):
    with pytest.raises(CommandError, match=words):
        run(*arguments)


def test_the_trace_itself_is_in_the_audit_trail(lot):
    run("LOT42")
    event = AuditEvent.objects.first()
    assert (event.action, event.subject_type, event.subject_id, event.actor) == (
        "lot.traced", "lot", str(lot.pk), None,
    )  # fmt: skip
