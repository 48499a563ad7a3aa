"""What setting a tablet's code refuses, each with the sentence shown to the person."""


class CodeError(Exception):
    """The code cannot be kept as it was sent, or the password is not the account's."""
