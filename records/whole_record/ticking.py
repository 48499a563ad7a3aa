"""What whole records do at each tick of the worker."""

import logging
import subprocess
import sys

from django.conf import settings

from records.whole_record import process
from records.whole_record.services import is_anything_to_make

logger = logging.getLogger(__name__)


class Maker:
    """The process that makes what waits: at most one of a worker, which does not wait for it."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None

    def tick(self) -> None:
        """Start one if something is to be made and none is at it."""
        if self._is_at_work() or not is_anything_to_make():
            return
        program = [sys.executable, "-m", process.__name__]
        self._process = subprocess.Popen(program, cwd=settings.BASE_DIR)  # noqa: S603 our own

    def _is_at_work(self) -> bool:
        if self._process is None:
            return False
        ended_with = self._process.poll()
        if ended_with is None:
            return True
        if ended_with:
            logger.error("The process that makes whole records ended with %s", ended_with)
        self._process = None
        return False


tick = Maker().tick
