from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("clinic", "0003_plausible_settings"),
    ]

    operations = [
        migrations.AlterModelManagers(
            name="user",
            managers=[],
        ),
    ]
