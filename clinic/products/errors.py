"""What a product refuses, with the sentence shown to the person."""


class ProductError(Exception):
    """A change the product does not allow."""
