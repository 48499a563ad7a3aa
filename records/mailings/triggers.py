from clinic.database.triggers import append_only

TRIGGERS = (*append_only("records_letterbatch"),)
