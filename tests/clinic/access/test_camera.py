"""Only a page that reads codes may use the camera and compile WebAssembly."""

import pytest

pytestmark = pytest.mark.django_db
POLICY = "Content-Security-Policy"


@pytest.mark.parametrize("url", ["/scanning/", "/charting/"])
def test_page_that_reads_codes_may_use_the_camera(client, injector, url):
    client.force_login(injector)
    page = client.get(url)
    assert "camera=(self)" in page["Permissions-Policy"]
    assert "script-src 'self' 'wasm-unsafe-eval'" in page[POLICY]
    assert "'unsafe-eval'" not in page[POLICY]


@pytest.mark.parametrize("url", ["/", "/stock/", "/patients/"])
def test_other_pages_may_not(client, injector, url):
    client.force_login(injector)
    page = client.get(url)
    assert page.status_code == 200
    assert "camera=()" in page["Permissions-Policy"]
    assert "wasm" not in page[POLICY]


def test_neither_may_the_door(client):
    page = client.get("/staff/sign-in/")
    assert "camera=()" in page["Permissions-Policy"]
    assert "wasm" not in page[POLICY]
