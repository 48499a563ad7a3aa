class AttemptRefused(Exception):
    """
    A try to reach a patient cannot be noted so.

    Attributes:
        field: which part of what was said is at fault; None for the whole.
    """

    def __init__(self, message: str, field: str | None = None) -> None:
        super().__init__(message)
        self.field = field
