"""How a clinic is served on one machine, behind a proxy that does TLS. Read by gunicorn."""

import os
import shutil
from pathlib import Path

host, port = os.environ.get("BIND", "127.0.0.1"), os.environ.get("PORT", "8000")
bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
# More than cores, as gunicorn's own manual has it: a worker that waits for the database leaves its
# core to another.
workers = int(os.environ.get("WORKERS") or min(2 * (os.cpu_count() or 1) + 1, 9))
threads = 8
preload_app = True
# A whole record as PDF takes longest.
timeout = 60
graceful_timeout = 20
keepalive = 5
worker_tmp_dir = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108
# The proxy hands on what it has read itself; more than this is no browser of ours.
limit_request_line = 4094
limit_request_fields = 60
limit_request_field_size = 8190
# Whose X-Forwarded-Proto is believed: the proxy on this machine.
forwarded_allow_ips = "127.0.0.1,::1"
# The tool writes a line for each request itself, without addresses (clinic/serving/middleware.py).
accesslog = None
logconfig_dict = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"json": {"()": "clinic.serving.logs.JsonLines"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "json"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "gunicorn.error": {"level": "INFO", "handlers": ["console"], "propagate": False},
        "gunicorn.access": {"level": "CRITICAL", "handlers": ["console"], "propagate": False},
    },
}

# Before prometheus_client is imported: each worker writes its figures there.
_var = Path(os.environ.get("CLINIC_VAR") or Path(__file__).resolve().parent.parent / "var")
_figures = _var / "figures"
os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(_figures)


def on_starting(server) -> None:
    """Figures begin with the server: those of before are of processes that are gone."""
    shutil.rmtree(_figures, ignore_errors=True)
    _figures.mkdir(mode=0o700, parents=True)


def child_exit(server, worker) -> None:
    from prometheus_client import multiprocess

    multiprocess.mark_process_dead(worker.pid)
