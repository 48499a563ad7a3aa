"""What the staff list refuses, each with the sentence shown to the person."""


class StaffError(Exception):
    """A change that would lock the clinic out of its own settings."""
