class WholeRecordError(Exception):
    """A whole record cannot be asked for or handed out like this; the message says why."""
