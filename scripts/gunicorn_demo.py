"""How the demo is served: one machine, a handful of people. Read by gunicorn."""

import os

host = os.environ["BIND"]
bind = f"[{host}]:{os.environ['PORT']}" if ":" in host else f"{host}:{os.environ['PORT']}"
# SQLite writes one at a time anyway. PostgreSQL does not, and a worker keeps one core busy at most.
# More of them than cores, as gunicorn's own manual has it: two requests that meet in one worker
# share a core while another lies idle.
is_postgresql = os.environ.get("DATABASE_URL", "").startswith("postgres")
workers = min(2 * (os.cpu_count() or 1) + 1, 9) if is_postgresql else 1
# Threads let a page load while a PDF is being made.
threads = 8
preload_app = True
timeout = 60
graceful_timeout = 5
loglevel = "warning"
# Should somebody ask for a log of the requests: without their addresses, some of which are secret.
access_log_format = "%(h)s %(t)s %(m)s %(s)s %(b)s %(L)s"


def when_ready(server) -> None:
    print(f"\nReady: http://{bind}/   (Ctrl-C stops it)", flush=True)
