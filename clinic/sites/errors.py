"""What a site refuses, with the sentence shown to the person."""


class SiteError(Exception):
    """A change the site does not allow."""
