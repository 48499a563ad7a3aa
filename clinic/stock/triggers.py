from clinic.database.triggers import Trigger, append_only

_ADD_WASTE = """
UPDATE clinic_unitofstock SET wasted = wasted + NEW.amount WHERE id = NEW.unit_id;
"""

TRIGGERS = (
    *append_only("clinic_stockmovement"),
    Trigger(
        name="clinic_stockmovement_adds_waste",
        table="clinic_stockmovement",
        when="AFTER INSERT",
        condition="NEW.kind = 'wasted'",
        sqlite=_ADD_WASTE,
        postgresql=_ADD_WASTE + "RETURN NULL;",
    ),
)
