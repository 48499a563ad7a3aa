"""A plan in a file: the documented example, and what is refused with its place."""

import copy
import json
from pathlib import Path

import pytest

from planning.allocation.document import PlanFileError, answer, read_plan
from planning.allocation.plan import allocate

DOCUMENT = Path(__file__).parents[3] / "docs" / "plan-units.md"


def example() -> dict:
    """What stands indented in the document."""
    lines = DOCUMENT.read_text(encoding="utf-8").splitlines()
    return json.loads("\n".join(line[4:] for line in lines if line.startswith("    ")))


def answered(data: dict) -> dict:
    plan = read_plan(data)
    found = allocate(
        plan.lines, plan.packs, plan.open_units,
        preference=plan.preference, one_plane_a_unit=plan.one_plane_a_unit,
    )  # fmt: skip
    return answer(plan, found)


def test_the_example_of_the_document():
    shown = answered(example())
    assert [(row["id"], row["units"]) for row in shown["open"]] == [
        ("firm 0.5 mL", 1), ("firm 1 mL", 1)
    ]  # fmt: skip
    assert (shown["waste"], shown["cost"], shown["missing"]) == (
        {"HA filler firm": "0.1 mL"}, "285.00", {}
    )  # fmt: skip


def test_a_toxin_is_counted_in_units():
    data = {
        "lines": [
            {"id": "1", "product": "Toxin", "region": "glabella", "side": "midline",
             "plane": "intramuscular", "amount": "20 units"},
        ],
        "shelf": [
            {"id": "100", "product": "Toxin", "lot": "T1", "content": "100 units", "units": 1,
             "price": "95", "expires_on": "2027-01-31"},
            {"id": "50", "product": "Toxin", "lot": "T2", "content": "50 units", "units": 1,
             "price": "60", "expires_on": "2027-01-31"},
        ],
    }  # fmt: skip
    shown = answered(data)
    assert [row["id"] for row in shown["open"]] == ["50"]
    assert shown["waste"] == {"Toxin": "30 units"}


def test_what_the_shelf_lacks_is_said():
    data = example()
    data["shelf"] = data["shelf"][1:]
    shown = answered(data)
    assert (shown["open"], shown["draws"], shown["cost"]) == ([], [], "0.00")
    assert shown["missing"] == {"HA filler firm": "0.4 mL"}


@pytest.mark.parametrize(
    ("where", "value", "words"),
    [
        (("lines", 0, "amount"), "0.6", "lines[0].amount: write the unit too"),
        (("lines", 0, "amount"), 0.6, "lines[0].amount: write text in quotation marks"),
        (("lines", 1, "amount"), "20 units", "lines[1].amount: “HA filler firm” is given both"),
        (("lines", 2, "region"), "cheek", "lines[2].region: “cheek” is not one of forehead"),
        (("lines", 0, "plane"), "", "lines[0].plane: write text"),
        (("lines", 0, "colour"), "red", "lines[0]: “colour” is not known"),
        (("lines", 1, "id"), "cheek, left", "lines: the id “cheek, left” stands there twice"),
        (("lines",), [], "lines: there is none"),
        (("lines",), {}, "lines: a list of at most"),
        (("shelf", 0, "units"), -1, "shelf[0].units: write a whole number"),
        (("shelf", 0, "units"), True, "shelf[0].units: write a whole number"),
        (("shelf", 0, "price"), "1.5", "shelf[0].price: Type the price as 180"),
        (("shelf", 1, "expires_on"), "31.03.2027", "shelf[1].expires_on: write the day"),
        (("preference",), "speed", "preference: write"),
        (("preference",), ["waste"], "preference: write"),
        (("lines", 0, "side"), "both", "lines[0].side: “both” is not one of left"),
        (
            ("open",),
            [
                {"id": f"U{n}", "product": "HA filler firm", "lot": "L1", "remaining": "0.1 mL"}
                for n in range(7)
            ],
            "open: at most 6",
        ),
        (("one_plane_a_unit",), "yes", "one_plane_a_unit: write true or false"),
        (("shelf", 0), "syringe", "shelf[0]: an object with id"),
    ],
)
def test_what_is_no_plan_is_refused_with_its_place(where, value, words):
    data = copy.deepcopy(example())
    *path, last = where
    target = data
    for step in path:
        target = target[step]
    target[last] = value
    with pytest.raises(PlanFileError) as refusal:
        read_plan(data)
    assert str(refusal.value).startswith(words)


def test_a_row_without_a_field_is_refused():
    data = example()
    del data["shelf"][0]["lot"]
    with pytest.raises(PlanFileError, match=r"shelf\[0\]: “lot” is missing"):
        read_plan(data)


@pytest.mark.parametrize("data", [None, [], "plan", 3])
def test_a_file_of_another_kind_is_refused(data):
    with pytest.raises(PlanFileError, match="the file: an object"):
        read_plan(data)
