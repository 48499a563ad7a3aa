"""Gathers the tables of the capabilities."""

from clinic.audit.models import AuditEvent, AuditHead
from clinic.database.models import Counter
from clinic.places.models import Place
from clinic.policy.models import ClinicPolicy, Closure
from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.receiving.models import Receipt
from clinic.staff.models import User
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.tablets.models import UnlockCode

__all__ = [
    "AuditEvent",
    "AuditHead",
    "ClinicPolicy",
    "Closure",
    "Counter",
    "Lot",
    "Place",
    "Product",
    "Quarantine",
    "Receipt",
    "StockMovement",
    "UnitOfStock",
    "UnlockCode",
    "User",
]
