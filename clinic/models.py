"""Gathers the tables of the capabilities."""

from clinic.atlas.models import AtlasEntry
from clinic.audit.models import AuditEvent, AuditHead
from clinic.audit_heads.models import DailyHead
from clinic.background.models import WorkerSeen
from clinic.counts.models import CountDifference, CountedExtra, CountedUnit, StockCount
from clinic.database.models import Counter
from clinic.emergency_kit.models import EmergencyItem
from clinic.fridges.models import ExcursionReview, FridgeReading
from clinic.hours.models import Absence, WorkingTime
from clinic.places.models import Place
from clinic.policy.models import ClinicPolicy, Closure
from clinic.products.models import Product
from clinic.protocols.models import Protocol, ProtocolStep
from clinic.quarantine.models import Quarantine
from clinic.receiving.models import Receipt
from clinic.review_rules.models import EffectDuration, ReviewRule
from clinic.rooms.models import Room
from clinic.sign_in.models import FailedTry
from clinic.sites.models import Site
from clinic.staff.models import User
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.tablets.models import UnlockCode
from clinic.visit_kinds.models import VisitKind

__all__ = [
    "Absence",
    "AtlasEntry",
    "AuditEvent",
    "AuditHead",
    "ClinicPolicy",
    "Closure",
    "CountDifference",
    "CountedExtra",
    "CountedUnit",
    "Counter",
    "DailyHead",
    "EffectDuration",
    "EmergencyItem",
    "ExcursionReview",
    "FailedTry",
    "FridgeReading",
    "Lot",
    "Place",
    "Product",
    "Protocol",
    "ProtocolStep",
    "Quarantine",
    "Receipt",
    "ReviewRule",
    "Room",
    "Site",
    "StockCount",
    "StockMovement",
    "UnitOfStock",
    "UnlockCode",
    "User",
    "VisitKind",
    "WorkerSeen",
    "WorkingTime",
]
