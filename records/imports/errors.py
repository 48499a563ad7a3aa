class ImportRefused(Exception):
    """A file or an act is refused; the message is a sentence for the page."""
