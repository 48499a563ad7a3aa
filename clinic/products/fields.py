"""Model fields of the products."""

from django.db import models

from planning.gtin import GtinError, normalise_gtin


class GtinField(models.CharField):
    """A GTIN, always stored in the one form that is compared: fourteen digits."""

    def pre_save(self, model_instance, add):
        value = getattr(model_instance, self.attname)
        if not value:
            value = None
        else:
            try:
                value = normalise_gtin(value)
            except GtinError:
                return value  # what is no GTIN is refused by the database
        setattr(model_instance, self.attname, value)
        return value
