"""After an act a person goes back to a page of ours, whatever the address says."""

import pytest

from clinic.access.return_path import return_path

OTHERWISE = "/patients/"


@pytest.mark.parametrize("path", ["/diary/?day=2026-12-01", "/"])
def test_back_to_a_page_of_ours(rf, path):
    assert return_path(rf.post("/", {"next": path}), otherwise=OTHERWISE) == path
    assert return_path(rf.get("/", {"next": path}), otherwise=OTHERWISE) == path


@pytest.mark.parametrize(
    "path",
    [
        "", "https://elsewhere.example/", "//elsewhere.example/", "///elsewhere.example",
        "/\\elsewhere.example", "javascript:alert(1)", "http:/elsewhere.example", "diary/",
    ],
)  # fmt: skip
def test_nowhere_else(rf, path):
    assert return_path(rf.post("/", {"next": path}), otherwise=OTHERWISE) == OTHERWISE
    assert return_path(rf.get("/", {"next": path}), otherwise=OTHERWISE) == OTHERWISE
