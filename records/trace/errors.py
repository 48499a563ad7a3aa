class LotNotFound(Exception):
    """No lot has this number."""


class LotAmbiguous(Exception):
    """Several products share this lot number; the GTIN must choose."""
