"""What can go wrong with a picture that was sent."""


class PictureRefused(Exception):
    """The file is no picture that can be kept: too large, damaged, or of another kind."""
