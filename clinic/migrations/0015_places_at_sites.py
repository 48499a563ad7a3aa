import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("clinic", "0014_contact_tries")]

    operations = [
        migrations.RemoveConstraint(model_name="place", name="place_once_per_site"),
        migrations.RenameField(model_name="place", old_name="site", new_name="site_name"),
        # For the way back: a column that is put back needs a value until its rows are filled.
        migrations.AlterField(
            model_name="place",
            name="site_name",
            field=models.CharField(max_length=100, default=""),
        ),
        migrations.AddField(
            model_name="place",
            name="site",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="places",
                to="clinic.site",
            ),
        ),
    ]
