from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0002_charting")]

    operations = [
        migrations.AddField(
            model_name="sessionpicture",
            name="on_pupils",
            field=models.BooleanField(
                default=False, help_text="The two places are the pupils, seen from the front."
            ),
        ),
        migrations.AddField(
            model_name="sessionpicture",
            name="sent_digest",
            field=models.CharField(
                default="", help_text="SHA-256 of the bytes that were sent.", max_length=64
            ),
            preserve_default=False,
        ),
    ]
