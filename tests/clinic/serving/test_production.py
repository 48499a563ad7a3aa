"""The settings of production, read by a process of its own as they are when a clinic starts."""

import json
import os
import subprocess
import sys

import pytest
from django.conf import settings

# What is asked for: OWASP Secure Headers Project, and Django's deployment checklist (from memory).
ASK = """
import json, django
django.setup()
from django.conf import settings as s
from django.core.checks import run_checks
from django.test import Client
told = [m.id for m in run_checks(include_deployment_checks=True) if m.id != "clinic.W001"]
def ask(path, host="record.clinic.example", **headers):
    return Client(headers={"host": host, **headers}).get(path)
https = {"x-forwarded-proto": "https"}
over_http, answer = ask("/health/x/"), ask("/health/", **https)
other = ask("/health/", "elsewhere.example", **https)
print(json.dumps({
    "told": told, "headers": dict(answer.headers),
    "cookies": [s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME],
    "secure": [s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SESSION_COOKIE_HTTPONLY],
    "same_site": [s.SESSION_COOKIE_SAMESITE, s.CSRF_COOKIE_SAMESITE],
    "redirect": [over_http.status_code, over_http["Location"]], "other": other.status_code,
    "formatter": s.LOGGING["handlers"]["console"]["formatter"], "debug": s.DEBUG,
}))
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("production")
    (folder / "static").mkdir()
    (folder / "key").write_text("Zq7-PwJ3nX_8rTfUa2LdVb0KcYsM4hGeRi9oWl6Bt5NxQyAe1S\n")
    kept = {name: text for name, text in os.environ.items()
            if not name.startswith(("CLINIC_", "DATABASE_"))}  # fmt: skip
    chosen = {
        "DJANGO_SETTINGS_MODULE": "clinic.settings",
        "CLINIC_PRODUCTION": "yes",
        "CLINIC_SECRET_KEY_FILE": str(folder / "key"),
        "CLINIC_HOSTS": "record.clinic.example",
        "CLINIC_ORIGINS": "https://record.clinic.example",
        "CLINIC_VAR": str(folder),
        "DATABASE_URL": f"sqlite:///{folder}/clinic.sqlite3",
    }
    done = subprocess.run(
        [sys.executable, "-c", ASK],
        cwd=settings.BASE_DIR, env=kept | chosen, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout) | {"lines": done.stderr.splitlines()}


def test_the_deployment_check_finds_nothing(found):
    assert found["told"] == []


def test_every_answer_carries_the_headers(found):
    headers = found["headers"]
    assert headers["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains; preload"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert headers["Permissions-Policy"].startswith("camera=(), microphone=()")


def test_the_content_policy_allows_nothing_that_stands_in_a_page(found):
    text = found["headers"]["Content-Security-Policy"]
    policy = dict(part.strip().split(" ", 1) for part in text.split(";"))
    assert policy["default-src"] == policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert policy["form-action"] == "'self'"
    assert "unsafe" not in text


def test_cookies_are_kept_for_this_host_over_https(found):
    assert found["cookies"] == ["__Host-sessionid", "__Host-csrftoken"]
    assert found["secure"] == [True, True, True]
    assert found["same_site"] == ["Lax", "Lax"]


def test_plain_http_is_sent_on_and_other_hosts_are_refused(found):
    assert found["redirect"] == [301, "https://record.clinic.example/health/x/"]
    assert found["other"] == 400


def test_the_log_is_for_a_machine_and_pages_show_no_internals(found):
    assert found["formatter"] == "json"
    assert found["debug"] is False
    told = [json.loads(line) for line in found["lines"]]  # every line is JSON
    assert [line["route"] for line in told if line["logger"] == "clinic.requests"] == [
        "none", "health", "none",
    ]  # fmt: skip


def test_developing_stays_as_it_was():
    assert settings.PRODUCTION is False
    assert settings.LOGGING["handlers"]["console"]["formatter"] == "withheld"
    assert settings.SESSION_COOKIE_NAME == "sessionid"
