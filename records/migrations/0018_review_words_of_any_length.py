from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0017_plan_stage_given_back"),
    ]

    operations = [
        migrations.AlterField(
            model_name="review",
            name="label",
            field=models.TextField(blank=True, help_text="What its rules call it."),
        ),
        migrations.AlterField(
            model_name="review",
            name="rule",
            field=models.TextField(help_text="The rules and sources it came from."),
        ),
        migrations.AlterField(
            model_name="reviewdate",
            name="reason",
            field=models.TextField(),
        ),
    ]
