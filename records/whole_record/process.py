"""
Run as a program by the worker: makes the whole records that wait, and ends.

One with hundreds of photographs takes a minute and close to a gigabyte. A process that ends gives
that back, and the worker's messages do not wait for it.
"""

import logging
import signal
import sys

import django

logger = logging.getLogger(__name__)


def main() -> int:
    """0, or 1 where one could not be made: the worker's next tick tries again."""
    django.setup()
    from records.whole_record.services import make_waiting  # has models, which need the set-up

    for asked_to_stop in (signal.SIGTERM, signal.SIGINT):
        signal.signal(asked_to_stop, lambda *_: sys.exit(1))
    try:
        make_waiting()
    except Exception:
        logger.exception("A whole record could not be made")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
