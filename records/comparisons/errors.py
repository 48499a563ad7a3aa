"""What can go wrong with a comparison. Each message is a sentence for the page."""


class SheetRefused(Exception):
    """The patient does not agree, or no more, to what the sheet is for."""
