import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("clinic", "0016_sites_of_places")]

    operations = [
        migrations.RemoveField(model_name="place", name="site_name"),
        migrations.AlterField(
            model_name="place",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="places",
                to="clinic.site",
            ),
        ),
        migrations.AlterModelOptions(name="place", options={"ordering": ["site__name", "name"]}),
        migrations.AddConstraint(
            model_name="place",
            constraint=models.UniqueConstraint(
                fields=("site", "name"),
                name="place_once_per_site",
                violation_error_message="This site already has a place of this name.",
            ),
        ),
    ]
