"""Why no password is looked at."""


class TooManyTries(Exception):
    """The text says how long to wait, and what else helps."""
