"""What can go wrong with what a patient had elsewhere."""


class AlreadyWithdrawn(Exception):
    """Somebody withdrew it before."""


class ReasonMissing(Exception):
    """It is withdrawn without a reason."""
