"""Why a code was refused."""

BY_HAND = "choose the product and type lot and expiry as they are printed on the box"


class CodeError(ValueError):
    """The text is no code that can be read; the message says why and what to do."""
