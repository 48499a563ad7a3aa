"""How the demo is served: one machine, a handful of people. Read by gunicorn."""

import os

host = os.environ["BIND"]
bind = f"[{host}]:{os.environ['PORT']}" if ":" in host else f"{host}:{os.environ['PORT']}"
workers = 1
# SQLite writes one at a time anyway; threads let a page load while a PDF is being made.
threads = 8
preload_app = True
timeout = 60
graceful_timeout = 5
loglevel = "warning"
# Should somebody ask for a log of the requests: without their addresses, some of which are secret.
access_log_format = "%(h)s %(t)s %(m)s %(s)s %(b)s %(L)s"


def when_ready(server) -> None:
    print(f"\nReady: http://{bind}/   (Ctrl-C stops it)", flush=True)
