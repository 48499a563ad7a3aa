"""`manage.py import_stock`: what it says, and that nothing comes in by half or twice."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from clinic.products.models import Product
from clinic.stock.models import UnitOfStock
from tests.factories import make_product, make_units

HEADINGS = "Product,Lot,Expiry,Quantity"
GOOD = "Soft filler,A1,2030-06-30,3"


@pytest.fixture
def take_in(tmp_path, owner):
    """`take_in(*rows, **options)` runs the command on a file of these rows."""
    make_product("Soft filler")

    def run(*rows: str, **options) -> str:
        file = tmp_path / "stock.csv"
        file.write_text("\n".join((HEADINGS, *rows)))
        said = StringIO()
        try:
            call_command("import_stock", str(file), stdout=said, **options)
        except CommandError as error:
            said.write(f"refused: {error}")
        return said.getvalue()

    return run


def test_a_list_is_taken_in_by_an_owner(take_in):
    assert take_in(GOOD, by="owner").splitlines() == [
        "1 rows, 1 in order, 3 units in them",
        "3 units received, labels U000001 to U000003",
    ]
    assert UnitOfStock.objects.count() == 3


def test_a_dry_run_receives_nothing(take_in):
    assert "A dry run: nothing was received." in take_in(GOOD, dry_run=True)
    assert not UnitOfStock.objects.exists()


def test_each_bad_row_is_named_and_nothing_received(take_in):
    said = take_in(GOOD, "Soft filler,A 2,soon,1", by="owner", sure=True)
    assert "Row 3: Lot “A 2”: a lot number does not hold a blank" in said
    assert "Row 3: Expiry “soon”: type YYYY-MM-DD" in said
    assert said.endswith("refused: 1 rows to correct. Nothing was received.")
    assert not UnitOfStock.objects.exists()


def test_questions_are_answered_first(take_in, owner):
    make_units(owner, Product.objects.get(), number="A1", quantity=1)
    said = take_in(GOOD, by="owner")
    assert "Question: The lot is in the books already" in said
    assert "refused: Nothing was received: look at the questions, then add --sure." in said
    assert "3 units received" in take_in(GOOD, by="owner", sure=True)


def test_the_same_list_is_not_taken_in_again(take_in):
    take_in(GOOD, by="owner")
    assert "already: nothing was received again." in take_in(GOOD, by="owner", sure=True)
    assert UnitOfStock.objects.count() == 3


@pytest.mark.parametrize("by", ["", "nobody", "injector"])
def test_an_owner_is_needed(take_in, injector, by):
    assert "refused: Say with --by which owner" in take_in(GOOD, by=by)
    assert not UnitOfStock.objects.exists()


def test_a_file_that_is_none_says_so(db, tmp_path):
    with pytest.raises(CommandError, match="No such file"):
        call_command("import_stock", str(tmp_path / "none.csv"))
    (tmp_path / "book.csv").write_bytes(b"PK\x03\x04")
    with pytest.raises(CommandError, match="a spreadsheet, not a CSV file"):
        call_command("import_stock", str(tmp_path / "book.csv"))
