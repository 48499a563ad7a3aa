"""Tries to reach a patient only grow."""

from clinic.database.triggers import append_only

TRIGGERS = append_only("records_contactattempt")
