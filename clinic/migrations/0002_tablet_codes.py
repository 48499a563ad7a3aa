import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("clinic", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="clinicpolicy",
            name="tablet_lock_minutes",
            field=models.PositiveSmallIntegerField(
                default=5,
                help_text="Without a touch or a key for so long, a charting tablet covers its screen.",
                validators=[
                    django.core.validators.MinValueValidator(1),
                    django.core.validators.MaxValueValidator(60),
                ],
            ),
        ),
        migrations.CreateModel(
            name="UnlockCode",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("device", models.UUIDField(help_text="The number a tablet gave itself.")),
                (
                    "salt",
                    models.CharField(
                        max_length=32,
                        validators=[django.core.validators.RegexValidator("^[0-9a-f]{32}$")],
                    ),
                ),
                (
                    "key",
                    models.CharField(
                        max_length=64,
                        validators=[django.core.validators.RegexValidator("^[0-9a-f]{64}$")],
                    ),
                ),
                (
                    "iterations",
                    models.PositiveIntegerField(
                        validators=[django.core.validators.MinValueValidator(310000)]
                    ),
                ),
                ("made_at", models.DateTimeField()),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="unlock_codes",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("user", "device"), name="one_code_per_user_and_tablet"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("iterations__gte", 310000)),
                        name="code_is_derived_slowly",
                    ),
                ],
            },
        ),
    ]
