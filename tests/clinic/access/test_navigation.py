"""Which entry of the navigation is marked as the one where a person is."""

import pytest

from clinic.access.enums import Role
from clinic.access.navigation import entries_for


def here(path: str, *roles: Role) -> list[str]:
    return [entry["label"] for entry in entries_for(roles, path) if entry["current"]]


@pytest.mark.parametrize(
    ("path", "label"),
    [
        ("/", "Today"),
        ("/stock/", "Stock"),
        ("/stock/lots/7/", "Stock"),
        ("/receiving/", "Stock"),
        ("/receiving/list/", "Stock"),
        ("/quarantine/7/", "Stock"),
        ("/storage/7/", "Stock"),
        ("/fridges/", "Stock"),
        ("/products/7/", "Stock"),
        ("/mailings/templates/", "Recalls"),
        ("/audit/verify/", "Audit trail"),
    ],
)
def test_a_page_belongs_to_one_entry(path, label):
    assert here(path, Role.OWNER) == [label]


@pytest.mark.parametrize("path", ["/receivings/", "/style/", "/nowhere/"])
def test_an_address_of_no_entry_marks_none(path):
    assert here(path, Role.OWNER) == []
