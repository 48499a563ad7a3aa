"""How the demo is served: one machine, a handful of people. Read by gunicorn."""

import os

bind = f"{os.environ['BIND']}:{os.environ['PORT']}"
workers = 1
# SQLite writes one at a time anyway; threads let a page load while a PDF is being made.
threads = 8
preload_app = True
timeout = 60
graceful_timeout = 5
loglevel = "warning"


def when_ready(server) -> None:
    host = os.environ["BIND"]
    shown = f"[{host}]" if ":" in host else host
    print(f"\nReady: http://{shown}:{os.environ['PORT']}/   (Ctrl-C stops it)", flush=True)
