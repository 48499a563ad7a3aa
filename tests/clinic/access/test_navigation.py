"""Which entry of the navigation is marked as the one where a person is."""

import pytest

from clinic.access.enums import Role
from clinic.access.navigation import entries_for


def leaves(path: str, *roles: Role) -> list[dict]:
    """All entries, those in drawers too."""
    shown = entries_for(roles, path)
    return [entry for item in shown for entry in item.get("entries", [item])]


def here(path: str, *roles: Role) -> list[str]:
    return [entry["label"] for entry in leaves(path, *roles) if entry["current"]]


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
        ("/calendars/", "Diary"),
        ("/mailings/templates/", "Recalls"),
        ("/audit/verify/", "Audit trail"),
    ],
)
def test_a_page_belongs_to_one_entry(path, label):
    assert here(path, Role.OWNER) == [label]


@pytest.mark.parametrize("path", ["/receivings/", "/style/", "/nowhere/"])
def test_an_address_of_no_entry_marks_none(path):
    assert here(path, Role.OWNER) == []


def test_a_drawer_says_where_in_it_the_person_is():
    drawers = [item for item in entries_for([Role.OWNER], "/audit/verify/") if "entries" in item]
    assert {drawer["label"]: drawer["current"] for drawer in drawers} == {
        "Care": "", "Stock and lots": "", "Practice": "Audit trail",
    }  # fmt: skip


def test_a_drawer_for_one_entry_is_that_entry():
    shown = [item["label"] for item in entries_for([Role.INJECTOR], "/")]
    assert ("Stock" in shown, "Stock and lots" in shown) == (True, False)


@pytest.mark.parametrize("roles", [[role] for role in Role] + [list(Role)])
def test_the_rail_fits_a_tablet_held_across(roles):
    """Rows of 60 px and the mark of 64 px, in the 820 px of a tablet of 1180 by 820 pixels."""
    assert 64 + 16 + 62 * len(entries_for(roles, "/")) <= 820


def test_a_key_opens_one_page():
    keys = [entry["key"] for entry in leaves("/", *Role) if entry["key"]]
    assert sorted(keys) == sorted(set(keys) - set("/?bwm,."))
