from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0015_review_dates_of_before")]

    operations = [
        migrations.AlterField(
            model_name="plansummary",
            name="total",
            field=models.PositiveBigIntegerField(null=True),
        ),
    ]
