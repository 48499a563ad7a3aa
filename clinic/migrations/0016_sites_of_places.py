"""A site for each text that places named as theirs."""

from django.db import migrations


def to_sites(apps, schema_editor):
    places, sites = apps.get_model("clinic", "Place"), apps.get_model("clinic", "Site")
    for name in places.objects.order_by("site_name").values_list("site_name", flat=True).distinct():
        site, _ = sites.objects.get_or_create(name=name)
        places.objects.filter(site_name=name).update(site=site)


def to_names(apps, schema_editor):
    """The sites stay: rooms and hours may name them."""
    for place in apps.get_model("clinic", "Place").objects.select_related("site"):
        place.site_name = place.site.name
        place.save(update_fields=["site_name"])


class Migration(migrations.Migration):
    dependencies = [("clinic", "0015_places_at_sites")]

    operations = [migrations.RunPython(to_sites, to_names)]
