"""
What a record has to hold: the table of DEVELOPERS.md names fields and pages that are there, and the
whole record of a patient says it in print.

The items and who asks for them: General Medical Council (UK), guidance for doctors who offer
cosmetic interventions, 2016; Medical Board of Australia, guidelines on cosmetic procedures, 2016
and 2023; 21 CFR 11.10(e); Regulation (EU) 2017/745 Art. 27. How sure each is stands in the table.
"""

import re
from pathlib import Path

import pytest
from django.apps import apps
from django.urls import get_resolver

from records.whole_record.enums import Purpose
from records.whole_record.models import WholeRecord
from records.whole_record.services import ask_for, make_waiting
from tests.pdf import opened, page_texts
from tests.rich_patient import NAME, live_on, make_rich_patient

GUIDE = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text()
SECTION = GUIDE.split("## What a record has to hold, and where it is")[1].split("\n## ")[0]
ROWS = {
    cells[0]: cells
    for line in SECTION.splitlines()
    if re.match(r"\| R\d+ ", line) and (cells := [cell.strip() for cell in line.split("|")[1:-1]])
}
ITEMS = [f"R{number}" for number in range(1, 17)]
FIELDS = [(item, *name) for item, row in ROWS.items()
          for name in re.findall(r"`(\w+)\.(\w+)`", row[3])]  # fmt: skip
MODELS = {model.__name__: model for model in apps.get_models()}


def test_every_item_is_in_the_table_with_its_source_fields_and_page():
    assert list(ROWS) == ITEMS
    for item, (_, what, asked, kept, shown) in ROWS.items():
        assert what, item
        assert re.search(r"\((read|memory)", asked), f"{item} does not say how sure it is"
        assert "`" in kept, item
        assert "`" in shown, item


@pytest.mark.parametrize(("item", "model", "field"), FIELDS, ids=str)
def test_every_field_that_is_named_is_there(item, model, field):
    assert MODELS[model]._meta.get_field(field)


@pytest.mark.parametrize("item", ITEMS)
def test_every_page_that_is_named_is_there(item):
    routes = re.findall(r"`([\w-]+)`", ROWS[item][4])
    assert routes
    assert set(routes) <= set(get_resolver().reverse_dict)


@pytest.fixture
def pages(owner, injector, desk) -> list[str]:
    """The whole record of a patient of whom something of every kind is on record, as text."""
    rich = make_rich_patient(owner, injector, desk)
    live_on(rich, injector)
    ask_for(
        record=WholeRecord(patient=rich.patient, purpose=Purpose.PATIENT, recipient=NAME),
        actor=owner,
    )
    make_waiting()
    record = WholeRecord.objects.get()
    pdf = bytes(record.pdf)
    assert opened(pdf).Root.MarkInfo.Marked
    return page_texts(pdf)


SAID = {
    "R1": [NAME, "17 May 1980", "07700 900123", "zoe@example.org", "4 Example Lane"],
    "R2": ["by Ida Injector", "Consent given"],
    "R3": ["Left cheek flatter.", "Consultation, 30 min"],
    "R4": ["or breastfeeding? Yes", "Allergic to lidocaine", "Read and checked", "Vaccine"],
    "R5": ["Alternatives: yes, costs: yes", "Asked how long it lasts.", "Statement 1"],
    "R6": ["HA filler 1 mL, lot LOT42: Zygomatic region"],
    "R7": ["HA filler 1 mL, lot LOT42, expiry", "T88120"],
    "R8": ["Supraperiosteal Bolus Needle 27 G, 13 mm", "0.2 mL"],
    "R9": ["4 units", "Made up with 2.5 mL"],
    "R10": ["Front, frown", "Teaching since", "Photographs for the record"],
    "R11": ["Emergency kit here and in date no: Next room"],
    "R12": ["In an emergency: 020 7946 0199", "Shown as a code"],
    "R13": ["Soft, slightly swollen.", "2 much improved", "8 of 10"],
    "R14": ["A bruise of 2 cm.", "Grade 1, mild"],
    "R15": ["Reason: Forgotten", "Digest of the signed content", "session.signed"],
    "R16": ["The patient refused", "Wants no picture shown", "Seen last week elsewhere"],
}  # fmt: skip


@pytest.mark.django_db
def test_the_whole_record_says_each_item_and_every_page_says_whose_it_is(pages):
    assert list(SAID) == ITEMS
    text = " ".join(pages)
    missing = [(item, words) for item, said in SAID.items() for words in said if words not in text]
    assert missing == []
    for number, page in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in page
        assert WholeRecord.objects.get().patient.record_number in page
