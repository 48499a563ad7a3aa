"""What the policy refuses, each with the sentence shown to the person."""


class PolicyError(Exception):
    """A setting under which the clinic could not work."""
