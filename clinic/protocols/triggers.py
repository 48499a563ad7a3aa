"""A version of the protocol stays as it was saved."""

from clinic.database.triggers import append_only

TRIGGERS = (*append_only("clinic_protocol"), *append_only("clinic_protocolstep"))
