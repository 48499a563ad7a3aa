from planning.vocabulary import Term


class GroupBy(Term):
    """What the use is added up by."""

    PRODUCT = "product", "Product"
    LOT = "lot", "Lot"
    INJECTOR = "injector", "Injector"
    MONTH = "month", "Month"
