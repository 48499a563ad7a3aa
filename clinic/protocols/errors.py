class ProtocolMoved(Exception):
    """Another version was saved since the page was opened; the message is a sentence for it."""
