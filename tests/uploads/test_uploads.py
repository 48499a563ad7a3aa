"""The short run; `make uploads` sends ten thousand."""

import pytest

from tests.records.sessions.pictures import encoded
from tests.uploads.run import left_in, run
from tests.uploads.seeds import MARK

pytestmark = pytest.mark.django_db


def test_no_spoiled_file_is_an_error_and_no_kept_one_says_more_than_its_pixels():
    report = run(seed=1, files=300)
    assert report.problems == []
    assert report.answers[200] > 30
    assert report.answers[422] > 30


def test_what_a_file_says_is_found():
    """The check itself, on a file as it was sent."""
    assert left_in(encoded(comment=MARK.encode())) == "words of the sent file were kept"
    assert "segments" in left_in(encoded(comment=b"something else"))
    assert left_in(encoded() + b"behind") == "bytes were kept behind the picture"
    assert left_in(encoded()) == ""
