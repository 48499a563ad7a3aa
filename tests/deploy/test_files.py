"""
What deploy/ shows fits the tool as it is. `make proxy-trial` and `make serve-trial` run the same
files; here is what needs no other program.
"""

import re
from configparser import ConfigParser
from pathlib import Path

import pytest

from clinic.access.uploads import MOST_BYTES
from tests.test_docs import settings_named

ROOT = Path(__file__).resolve().parents[2]
DEPLOY = ROOT / "deploy"
UNITS = sorted((DEPLOY / "systemd").glob("*.service"))
AT = "/srv/clinic-record/"


def unit(path: Path) -> ConfigParser:
    parser = ConfigParser(strict=False, interpolation=None)
    parser.optionxform = str
    parser.read(path)
    return parser


def named_in_env() -> dict[str, str]:
    lines = (DEPLOY / "clinic.env").read_text().splitlines()
    return dict(line.lstrip("#").split("=", 1) for line in lines if re.match(r"#?[A-Z_]+=", line))


def test_there_is_a_unit_for_the_web_server_and_one_for_the_worker():
    assert [path.name for path in UNITS] == ["clinic-web.service", "clinic-worker.service"]


@pytest.mark.parametrize("path", UNITS, ids=lambda path: path.name)
def test_a_unit_starts_what_is_there_as_a_user_of_its_own(path):
    service = unit(path)["Service"]
    program, *words = service["ExecStart"].split()
    assert program == f"{AT}.venv/bin/python"
    assert service["WorkingDirectory"] == AT.rstrip("/")
    files = [word for word in words if word.endswith(".py")]
    assert files
    assert all((ROOT / file).is_file() for file in files)
    assert service["User"] not in {"", "root"}
    assert service["Restart"] == "always"
    assert service["NoNewPrivileges"] == service["PrivateTmp"] == "yes"
    assert service["ProtectSystem"] == "strict"
    # Empty: no capability at all.
    assert service["CapabilityBoundingSet"] == ""


@pytest.mark.parametrize("path", UNITS, ids=lambda path: path.name)
def test_a_unit_hands_secrets_on_as_files(path):
    text = path.read_text()
    given = set(re.findall(r"^LoadCredential=(\w+):", text, re.MULTILINE))
    assert given == {"secret_key", "database_url"}
    assert set(re.findall(r"_FILE=%d/(\w+)", text)) == given
    assert unit(path)["Service"]["EnvironmentFile"] == "/etc/clinic-record/clinic.env"


def test_the_environment_names_settings_that_are_read_and_no_secret():
    named = named_in_env()
    assert {name.removesuffix("_FILE") for name in named} <= settings_named()
    assert named["CLINIC_PRODUCTION"] == named["CLINIC_HTTPS"] == "yes"
    assert not {"CLINIC_SECRET_KEY", "DATABASE_URL", "CLINIC_METRICS_TOKEN"} & set(named)


@pytest.mark.parametrize("name", ["nginx.conf", "Caddyfile"])
def test_a_proxy_leads_to_the_server_and_keeps_the_machine_s_pages_inside(name):
    text = (DEPLOY / name).read_text()
    env = named_in_env()
    assert f"{env['BIND']}:{env['PORT']}" in text
    assert env["CLINIC_HOSTS"] in text
    assert "^/(ready|metrics)/?$" in text
    for page in set(re.findall(r"/(\d{3}\.html)", text)):
        assert (DEPLOY / "pages" / page).is_file()


def test_a_proxy_takes_what_the_tool_takes_and_little_more():
    nginx = re.search(r"client_max_body_size (\d+)m;", (DEPLOY / "nginx.conf").read_text())
    caddy = re.search(r"max_size (\d+)MB", (DEPLOY / "Caddyfile").read_text())
    most = MOST_BYTES // 2**20
    assert most < int(nginx[1]) <= most + 5
    assert most < int(caddy[1]) * 10**6 / 2**20 <= most + 5


def test_nginx_writes_no_address_into_its_log():
    text = (DEPLOY / "nginx.conf").read_text()
    form = re.search(r"log_format clinic '(.+)';", text)[1]
    addresses = r"\$(request|request_uri|uri|document_uri|args|query_string|http_referer)\b"
    assert not re.search(addresses, form)
    assert set(re.findall(r"access_log \S+ (\w+);", text)) == {"clinic"}


def test_the_image_holds_what_the_tool_needs_and_runs_as_nobody_special():
    text = (DEPLOY / "Containerfile").read_text()
    copied = re.findall(r"^COPY (\S+) ", text, re.MULTILINE)
    assert [path for path in copied if not (ROOT / path).exists()] == []
    assert {"clinic", "records", "planning", "templates", "static", "manage.py"} <= set(copied)
    assert not {".", "tests", "var"} & set(copied)
    users = re.findall(r"^USER (\S+)", text, re.MULTILINE)
    assert users == ["clinic"]
    assert "--require-hashes" in text
    assert not re.search(r"(SECRET_KEY|DATABASE_URL|PASSWORD)=", text)
    # The libraries that scripts/system-packages asks for.
    script = (ROOT / "scripts" / "system-packages").read_text()
    asked = re.findall(r"^\s*need (lib\S+) has_library", script, re.MULTILINE)
    assert len(asked) == 4
    assert all(package in text or package == "libfontconfig1" for package in asked)


def test_gunicorn_writes_no_log_of_requests_and_believes_no_stranger():
    text = (DEPLOY / "gunicorn.py").read_text()
    assert "accesslog = None" in text
    assert 'forwarded_allow_ips = "127.0.0.1,::1"' in text
