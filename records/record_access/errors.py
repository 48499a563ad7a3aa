class RecordAccessError(Exception):
    """What was asked for cannot be done; the message says why and what to do."""
