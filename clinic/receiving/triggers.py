"""A receipt stays as it was written: by it the same delivery is known again."""

from clinic.database.triggers import append_only

TRIGGERS = append_only("clinic_receipt")
