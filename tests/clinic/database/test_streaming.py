from itertools import islice

import pytest
from django.db import DatabaseError, transaction

from clinic.database.models import Counter
from clinic.database.streaming import AT_ONCE, streamed

pytestmark = pytest.mark.django_db
MANY = 2 * AT_ONCE + 1
NUMBERS = """
WITH RECURSIVE numbers(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM numbers WHERE n < %s)
SELECT n, 'row' FROM numbers ORDER BY n
"""


def test_every_row_comes_once_and_in_order():
    rows = list(streamed(NUMBERS, [MANY]))
    assert [number for number, _ in rows] == list(range(1, MANY + 1))
    assert rows[0] == (1, "row")
    assert list(streamed(f"{NUMBERS} LIMIT 0", [MANY])) == []


@pytest.mark.parametrize("few", [0, 1, AT_ONCE, MANY - 1])
def test_whoever_stops_early_can_go_on_in_the_same_transaction(few):
    with transaction.atomic():
        assert len(list(islice(streamed(NUMBERS, [MANY]), few))) == few
        Counter.objects.create(name="after")
    assert Counter.objects.filter(name="after").exists()


def test_what_fails_fails_as_everywhere_else():
    with pytest.raises(DatabaseError), transaction.atomic():
        list(streamed("SELECT nothing FROM nowhere WHERE 1 = %s", [1]))
