"""
Figures of the served pages, kept by prometheus_client.

Several processes serve: each writes its own into a folder (PROMETHEUS_MULTIPROC_DIR, set by
deploy/gunicorn.py), and whoever is asked adds them up.
"""

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime

from django.conf import settings
from django.db import Error
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest, multiprocess
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.metrics_core import Metric
from prometheus_client.registry import REGISTRY, Collector

from clinic.background.models import WorkerSeen

METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}

REQUESTS = Counter(
    "clinic_requests", "Requests answered, by method, route and status.",
    ["method", "route", "status"],
)  # fmt: skip
SECONDS = Histogram(
    "clinic_request_seconds", "How long an answer took until it began.", ["route"],
    buckets=(0.05, 0.1, 0.25, 0.5, 1, 2.5, 10),
)  # fmt: skip


def method_of(method: str | None) -> str:
    """One of the known ones: a sender could invent thousands, each a figure of its own."""
    return method if method in METHODS else "other"


def count(method: str | None, route: str, status: int, seconds: float) -> None:
    REQUESTS.labels(method_of(method), route, str(status)).inc()
    SECONDS.labels(route).observe(seconds)


class Clinic(Collector):
    """What is so at the moment of asking, for all processes together."""

    def collect(self) -> Iterator[Metric]:
        yield GaugeMetricFamily(
            "clinic_disk_free_bytes",
            "Free where photographs and documents lie.",
            value=shutil.disk_usage(settings.VAR_DIR).free,
        )
        try:
            seen = WorkerSeen.objects.filter(pk=1).first()
            waiting = DBTaskResult.objects.filter(status=TaskResultStatus.READY).count()
        except Error:
            yield GaugeMetricFamily("clinic_database_up", "Whether it answers.", value=0)
            return
        yield GaugeMetricFamily("clinic_database_up", "Whether it answers.", value=1)
        yield GaugeMetricFamily("clinic_tasks_waiting", "Tasks in the queue.", value=waiting)
        if seen:
            age = (datetime.now(UTC) - seen.seen_at).total_seconds()
            yield GaugeMetricFamily(
                "clinic_worker_seen_seconds", "Since the worker's last tick.", value=age
            )


def as_text() -> bytes:
    """In Prometheus' text format, version 0.0.4."""
    served = REGISTRY
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        served = CollectorRegistry()
        multiprocess.MultiProcessCollector(served)
    now = CollectorRegistry()
    now.register(Clinic())
    return generate_latest(served) + generate_latest(now)
