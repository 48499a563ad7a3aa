class TimeOutConflict(Exception):
    """The same time-out was sent before with other content."""
