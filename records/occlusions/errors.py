"""Why a line of an occlusion log is refused; each message is a sentence for the tablet."""


class OcclusionError(Exception):
    """The log cannot be written so."""


class OcclusionConflict(OcclusionError):
    """The same key was stored before with other content."""
