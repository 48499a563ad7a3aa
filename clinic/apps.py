from django.apps import AppConfig
from django.db.models.signals import pre_migrate


class ClinicConfig(AppConfig):
    name = "clinic"
    verbose_name = "Clinic"

    def ready(self) -> None:
        from clinic.audit.triggers import TRIGGERS as AUDIT
        from clinic.audit_heads import ticking as audit_heads
        from clinic.audit_heads.triggers import TRIGGERS as AUDIT_HEADS
        from clinic.background import ticks
        from clinic.counts.triggers import TRIGGERS as COUNTS
        from clinic.database import checks, triggers  # noqa: F401 (the checks register themselves)
        from clinic.fridges.triggers import TRIGGERS as FRIDGES
        from clinic.hours.triggers import TRIGGERS as HOURS
        from clinic.protocols.triggers import TRIGGERS as PROTOCOLS
        from clinic.quarantine.triggers import TRIGGERS as QUARANTINE
        from clinic.receiving.triggers import TRIGGERS as RECEIVING
        from clinic.stock.triggers import TRIGGERS as STOCK

        triggers.register(
            *AUDIT,
            *AUDIT_HEADS,
            *COUNTS,
            *FRIDGES,
            *HOURS,
            *PROTOCOLS,
            *QUARANTINE,
            *RECEIVING,
            *STOCK,
        )
        ticks.register("audit heads", audit_heads.tick)
        pre_migrate.connect(triggers.drop_before_migrate, sender=self)
