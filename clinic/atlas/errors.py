"""Why a value of the atlas is refused; each message is a sentence for the page."""


class AtlasError(Exception):
    """The value cannot be saved so."""
