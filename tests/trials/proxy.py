"""
`python -m tests.trials.proxy`: the proxies of deploy/ as they stand there, on ports and with a
certificate of their own, in front of the tool in production.

nginx is needed, Caddy is tried where it is installed, and the systemd units where systemd is.
"""

import os
import re
import shutil
import ssl
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path

from tests.postgres import end_with_parent
from tests.trials.served import HOST, ROOT, Asker, Served, Trial, free_port, served, wait_for

DEPLOY = ROOT / "deploy"
MEGABYTE = 2**20


class Proxy:
    """One of them, with its own configuration changed where this machine is another."""

    def __init__(self, folder: Path, server: Served, certificate: tuple[Path, Path]) -> None:
        self.folder, self.server, self.certificate = folder, server, certificate
        self.http, self.https = free_port(), free_port()
        self.config = folder / self.name

    def start(self) -> subprocess.Popen:
        return subprocess.Popen(
            self.command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            env={"HOME": str(self.folder), "PATH": "/usr/sbin:/usr/bin:/sbin:/bin"},
            preexec_fn=end_with_parent,
        )  # fmt: skip


class Nginx(Proxy):
    name = "nginx"

    def write(self) -> None:
        text = (DEPLOY / "nginx.conf").read_text()
        text = re.sub(r"^\s*listen \[::\].*\n", "", text, flags=re.MULTILINE)
        text = re.sub(r"listen 443\b", f"listen 127.0.0.1:{self.https}", text)
        text = re.sub(r"listen 80\b", f"listen 127.0.0.1:{self.http}", text)
        text = text.replace("/etc/ssl/clinic-record/fullchain.pem", str(self.certificate[0]))
        text = text.replace("/etc/ssl/clinic-record/privkey.pem", str(self.certificate[1]))
        text = text.replace("/var/log/nginx/", f"{self.folder}/")
        text = text.replace("127.0.0.1:8000", f"127.0.0.1:{self.server.port}")
        text = text.replace("/srv/clinic-record", str(ROOT))
        kinds = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
        temporary = "\n".join(f"{kind}_temp_path {self.folder}/{kind};" for kind in kinds)
        user = "user root;\n" if _is_root() else ""
        self.config.write_text(
            f"{user}daemon off;\npid {self.folder}/pid;\nerror_log {self.folder}/error.log;\n"
            f"events {{ }}\nhttp {{\ninclude /etc/nginx/mime.types;\n{temporary}\n{text}\n}}\n"
        )
        self.check = ["nginx", "-t", "-q", "-c", str(self.config)]
        self.command = ["nginx", "-c", str(self.config)]


class Caddy(Proxy):
    name = "caddy"

    def write(self) -> None:
        text = (DEPLOY / "Caddyfile").read_text()
        names = f"tls {self.certificate[0]} {self.certificate[1]}"
        text = text.replace(f"{HOST} {{", f"{HOST} {{\n\t{names}", 1)
        text = text.replace("127.0.0.1:8000", f"127.0.0.1:{self.server.port}")
        text = text.replace("/srv/clinic-record", str(ROOT))
        options = (
            f"admin off\nhttp_port {self.http}\nhttps_port {self.https}\n"
            "default_bind 127.0.0.1\nskip_install_trust"
        )
        self.config.write_text(f"{{\n{options}\n}}\n{text}")
        arguments = ["--config", str(self.config), "--adapter", "caddyfile"]
        self.check = ["caddy", "validate", *arguments]
        self.command = ["caddy", "run", *arguments]


def main() -> int:
    trial = Trial()
    if not shutil.which("nginx", path="/usr/sbin:/usr/bin"):
        print(
            "make proxy-trial needs nginx. On Debian: apt-get install nginx-light", file=sys.stderr
        )
        return 2
    with tempfile.TemporaryDirectory(prefix="clinic-proxy-") as name:
        folder = Path(name)
        units(trial, folder)
        certificate = self_signed(folder)
        with served(folder, f"sqlite:///{folder}/clinic.sqlite3") as server:
            server.manage("seed_demo")
            for kind in (Nginx, Caddy):
                if shutil.which(kind.name, path="/usr/sbin:/usr/bin"):
                    through(trial, kind(folder, server, certificate))
                else:
                    print(f"--   {kind.name} is not installed, and not tried")
    print(f"{trial.failed} not as they should be")
    return 1 if trial.failed else 0


def through(trial: Trial, proxy: Proxy) -> None:
    proxy.write()
    checked = subprocess.run(proxy.check, capture_output=True, text=True, check=False)
    trial.see(f"{proxy.name} takes its configuration", checked.returncode == 0, checked.stderr)
    process = proxy.start()
    trusted = ssl.create_default_context(cafile=str(proxy.certificate[0]))
    asker = Asker(proxy.https, tls=trusted)
    try:
        up = wait_for(lambda: asker.get("/health/").status == 200, process, seconds=20)
        trial.see(f"{proxy.name} hands on", up)
        if up:
            plain_and_wrong(trial, proxy, trusted)
            headers(trial, proxy, asker)
            cookies(trial, proxy, asker)
            claims_and_sizes(trial, proxy, asker)
            server_away(trial, proxy, asker)
    finally:
        process.terminate()
        process.wait(timeout=20)


def plain_and_wrong(trial: Trial, proxy: Proxy, trusted: ssl.SSLContext) -> None:
    plain = Asker(proxy.http, as_proxy=False).get("/patients/?q=x")
    leads = plain.headers["Location"] or ""
    trial.see(f"{proxy.name}: plain http is sent to https",
              plain.status in {301, 308} and leads.startswith(f"https://{HOST}"),
              (plain.status, leads))  # fmt: skip
    trial.see(f"{proxy.name}: another host name is not answered",
              not answers(proxy, trusted, host="elsewhere.example"))  # fmt: skip
    old = ssl.create_default_context(cafile=str(proxy.certificate[0]))
    old.set_ciphers("ALL:@SECLEVEL=0")
    with warnings.catch_warnings(action="ignore", category=DeprecationWarning):
        old.minimum_version, old.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
    trial.see(f"{proxy.name}: TLS 1.1 is refused", not answers(proxy, old))


def answers(proxy: Proxy, tls: ssl.SSLContext, host: str = HOST) -> bool:
    tls.check_hostname = host == HOST
    try:
        return Asker(proxy.https, tls=tls, host=host).get("/health/").status == 200
    except (OSError, ValueError):
        return False
    finally:
        tls.check_hostname = True


def headers(trial: Trial, proxy: Proxy, asker: Asker) -> None:
    answer = asker.get("/staff/sign-in/")
    policy = answer.headers["Content-Security-Policy"] or ""
    expected = {
        "Strict-Transport-Security": "max-age=31536000; includeSubDomains; preload",
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cache-Control": "no-store",
    }
    for name, value in expected.items():
        found = answer.headers[name] or ""
        trial.see(f"{proxy.name}: {name}", value in found, found)
    trial.see(f"{proxy.name}: the policy for scripts and styles allows nothing in the page",
              "script-src 'self'" in policy and "unsafe" not in policy, policy)  # fmt: skip
    said = answer.headers["Server"] or ""
    trial.see(f"{proxy.name}: no version is told", not re.search(r"\d", said), said)
    for path in ("/ready/", "/metrics/", "/ready", "/metrics"):
        status = asker.get(path).status
        trial.see(f"{proxy.name}: {path} stays inside", status == 404, status)


def cookies(trial: Trial, proxy: Proxy, asker: Asker) -> None:
    asker.kept.clear()
    form = asker.get("/staff/sign-in/")
    signed_in = asker.sign_in("desk", "larkstone-demo-2026")
    trial.see(f"{proxy.name}: signing in works", signed_in.status == 302, signed_in.status)
    trial.see(f"{proxy.name}: and the first page", asker.get("/").status == 200)
    set_now = {line.split("=")[0]: line for line in form.cookies + signed_in.cookies}
    for name in ("__Host-sessionid", "__Host-csrftoken"):
        line = set_now.get(name, "")
        is_safe = all(word in line for word in ("Secure", "SameSite=Lax", "Path=/"))
        trial.see(f"{proxy.name}: {name} is kept for this host and https", is_safe, set_now)
    trial.see(f"{proxy.name}: no script reads the session",
              "HttpOnly" in set_now.get("__Host-sessionid", ""))  # fmt: skip


def claims_and_sizes(trial: Trial, proxy: Proxy, asker: Asker) -> None:
    claimed = {"X-Forwarded-Proto": "http", "X-Forwarded-Host": "elsewhere.example"}
    answer = asker.get("/", **claimed)
    trial.see(f"{proxy.name}: what a sender claims is not believed", answer.status == 200,
              (answer.status, answer.headers["Location"]))  # fmt: skip
    # 31 MB is more than the proxy takes, 3 MB of text more than the tool reads.
    for size in (31, 3):
        try:
            large = asker.post("/staff/sign-in/", {"username": "x" * size * MEGABYTE})
        except OSError as error:  # the proxy hung up in the middle, which is a refusal as well
            trial.see(f"{proxy.name}: {size} MB of text are refused", size == 31, error)
            continue
        trial.see(f"{proxy.name}: {size} MB of text are refused, in words",
                  large.status == 413 and "too large" in large.text, large.status)  # fmt: skip


def server_away(trial: Trial, proxy: Proxy, asker: Asker) -> None:
    """Nobody listens behind it: its configuration is told another port for a moment."""
    port, proxy.server.port = proxy.server.port, free_port()
    proxy.http, proxy.https = free_port(), free_port()
    proxy.write()
    proxy.server.port = port
    process = proxy.start()
    asker = Asker(proxy.https, tls=asker.tls)
    try:
        wait_for(lambda: asker.get("/"), process, seconds=20)
        answer = asker.get("/")
        trial.see(f"{proxy.name}: without a server behind it, a page says what to do",
                  answer.status in {502, 503}
                  and "cannot be reached at the moment" in answer.text
                  and answer.headers["Strict-Transport-Security"], answer.status)  # fmt: skip
    finally:
        process.terminate()
        process.wait(timeout=20)


def self_signed(folder: Path) -> tuple[Path, Path]:
    certificate, key = folder / "certificate.pem", folder / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
         "-nodes", "-days", "2", "-subj", f"/CN={HOST}", "-addext", f"subjectAltName=DNS:{HOST}",
         "-keyout", key, "-out", certificate],
        check=True, capture_output=True,
    )  # fmt: skip
    return certificate, key


def units(trial: Trial, folder: Path) -> None:
    """systemd reads them without a word, and finds little that they leave open."""
    if not shutil.which("systemd-analyze"):
        print("--   systemd is not installed, and its units are not tried")
        return
    place = folder / "units"
    place.mkdir()
    for unit in sorted((DEPLOY / "systemd").glob("*.service")):
        text = unit.read_text().replace("/srv/clinic-record", str(ROOT))
        (place / unit.name).write_text(text)
        told = _told("verify", "--man=no", str(place / unit.name))
        trial.see(f"systemd takes {unit.name}", told == "", told)
        told = _told("security", "--offline=true", "--threshold=25", str(unit))
        rated = re.search(r"exposure level for \S+: ([\d.]+)", told)
        trial.see(f"systemd finds little open in {unit.name}", rated and float(rated[1]) < 2.5,
                  told[-200:])  # fmt: skip


def _told(*words: str) -> str:
    done = subprocess.run(["systemd-analyze", *words], capture_output=True, text=True, check=False)
    return (done.stdout + done.stderr).strip()


def _is_root() -> bool:
    return os.geteuid() == 0


if __name__ == "__main__":
    sys.exit(main())
