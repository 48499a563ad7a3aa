"""What a patient said about being written to stays on record."""

from clinic.database.triggers import append_only

TRIGGERS = append_only("records_contactconsent")
