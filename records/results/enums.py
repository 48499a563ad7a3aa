from planning.vocabulary import Term


class WasteBy(Term):
    """Whose waste is drawn month by month."""

    PRODUCT = "product", "Product"
    INJECTOR = "injector", "Injector"
