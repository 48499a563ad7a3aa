import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import clinic.pictures.storage


def give_every_session_its_key(apps, schema_editor):
    sessions = apps.get_model("records", "TreatmentSession").objects
    for pk in sessions.values_list("pk", flat=True).iterator(chunk_size=1_000):
        sessions.filter(pk=pk).update(key=uuid.uuid4())


class Migration(migrations.Migration):
    dependencies = [
        ("clinic", "0001_initial"),
        ("records", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Marking",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "view",
                    models.CharField(
                        choices=[
                            ("front", "Front"),
                            ("right", "Right side"),
                            ("left", "Left side"),
                            ("neck", "Neck"),
                            ("hands", "Hands"),
                            ("picture", "Photograph"),
                        ],
                        max_length=10,
                    ),
                ),
                ("x_dmm", models.SmallIntegerField()),
                ("y_dmm", models.SmallIntegerField()),
                ("chart_version", models.CharField(max_length=10)),
                ("region", models.CharField(max_length=40)),
                (
                    "side",
                    models.CharField(
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                ("marked_at", models.DateTimeField(help_text="By the clock of the device.")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("head", models.UUIDField(editable=False, null=True)),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.CreateModel(
            name="Operation",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        help_text="Made at the touch.", primary_key=True, serialize=False
                    ),
                ),
                ("session_key", models.UUIDField()),
                (
                    "kind",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("start", "Started the session"),
                            ("edit", "Changed the note, the outline or the measures"),
                            ("open", "Put a unit on the tray"),
                            ("put_back", "Took a unit off the tray"),
                            ("waste", "Recorded waste"),
                            ("log", "Logged a point"),
                            ("change", "Changed a point"),
                            ("move", "Moved a point"),
                            ("remove", "Removed a point"),
                            ("restore", "Brought back a point"),
                            ("plan", "Marked a place"),
                            ("unplan", "Removed a marking"),
                            ("replan", "Brought back a marking"),
                            ("calibrate", "Gave a photograph its scale"),
                            ("drop_picture", "Removed a photograph"),
                            ("sign", "Signed"),
                            ("addendum", "Wrote an addendum"),
                            ("withdraw", "Gave up an act that was not stored"),
                        ],
                        max_length=20,
                    ),
                ),
                ("device", models.UUIDField(null=True)),
                ("sequence", models.PositiveBigIntegerField(default=0)),
                ("made_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("skew_ms", models.BigIntegerField(default=0)),
                ("handed_over", models.BooleanField(default=False)),
                (
                    "body_digest",
                    models.CharField(
                        blank=True,
                        help_text="SHA-256 of what was sent, in canonical JSON.",
                        max_length=64,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[("applied", "Stored"), ("withdrawn", "Given up")],
                        default="applied",
                        max_length=10,
                    ),
                ),
            ],
            options={
                "ordering": ["received_at"],
            },
        ),
        migrations.CreateModel(
            name="SessionPicture",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "file",
                    models.FileField(
                        storage=clinic.pictures.storage.private_pictures, upload_to=""
                    ),
                ),
                ("width", models.PositiveIntegerField(help_text="Pixels.")),
                ("height", models.PositiveIntegerField(help_text="Pixels.")),
                (
                    "digest",
                    models.CharField(help_text="SHA-256 of the stored bytes.", max_length=64),
                ),
                ("x1", models.PositiveIntegerField(null=True)),
                ("y1", models.PositiveIntegerField(null=True)),
                ("x2", models.PositiveIntegerField(null=True)),
                ("y2", models.PositiveIntegerField(null=True)),
                ("distance_dmm", models.PositiveIntegerField(null=True)),
                ("taken_at", models.DateTimeField(help_text="By the clock of the device.")),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("head", models.UUIDField(editable=False, null=True)),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="injectionentry",
            name="point_view_is_known",
        ),
        migrations.AddField(
            model_name="injectionentry",
            name="head",
            field=models.UUIDField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name="injectionentry",
            name="reach_x_dmm",
            field=models.SmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="injectionentry",
            name="reach_y_dmm",
            field=models.SmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="face_height_dmm",
            field=models.PositiveSmallIntegerField(
                blank=True, null=True, verbose_name="face height"
            ),
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="face_width_dmm",
            field=models.PositiveSmallIntegerField(
                blank=True, null=True, verbose_name="face width"
            ),
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="head",
            field=models.UUIDField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="key",
            field=models.UUIDField(editable=False, null=True),
        ),
        migrations.RunPython(give_every_session_its_key, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="treatmentsession",
            name="key",
            field=models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="pupil_dmm",
            field=models.PositiveSmallIntegerField(
                blank=True, null=True, verbose_name="between the pupils"
            ),
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="signature_made_at",
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AlterField(
            model_name="injectionentry",
            name="view",
            field=models.CharField(
                choices=[
                    ("front", "Front"),
                    ("right", "Right side"),
                    ("left", "Left side"),
                    ("neck", "Neck"),
                    ("hands", "Hands"),
                    ("picture", "Photograph"),
                ],
                max_length=10,
            ),
        ),
        migrations.AddConstraint(
            model_name="treatmentsession",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("pupil_dmm__isnull", True), ("pupil_dmm__range", (300, 900)), _connector="OR"
                ),
                name="session_pupil_dmm_in_range",
            ),
        ),
        migrations.AddConstraint(
            model_name="treatmentsession",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("face_height_dmm__isnull", True),
                    ("face_height_dmm__range", (600, 1800)),
                    _connector="OR",
                ),
                name="session_face_height_dmm_in_range",
            ),
        ),
        migrations.AddConstraint(
            model_name="treatmentsession",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("face_width_dmm__isnull", True),
                    ("face_width_dmm__range", (800, 2000)),
                    _connector="OR",
                ),
                name="session_face_width_dmm_in_range",
            ),
        ),
        migrations.AddField(
            model_name="marking",
            name="marked_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="marking",
            name="session",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="markings",
                to="records.treatmentsession",
            ),
        ),
        migrations.AddField(
            model_name="injectionentry",
            name="marking",
            field=models.ForeignKey(
                blank=True,
                help_text="The place marked beforehand that this point ticks off.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="points",
                to="records.marking",
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="author",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="sent_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="session",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="operations",
                to="records.treatmentsession",
            ),
        ),
        migrations.AddField(
            model_name="sessionpicture",
            name="added_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="sessionpicture",
            name="session",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="pictures",
                to="records.treatmentsession",
            ),
        ),
        migrations.AddField(
            model_name="injectionentry",
            name="picture",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="points",
                to="records.sessionpicture",
            ),
        ),
        migrations.AddConstraint(
            model_name="injectionentry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("reach_x_dmm__isnull", True), ("reach_y_dmm__isnull", True)),
                    models.Q(("reach_x_dmm__isnull", False), ("reach_y_dmm__isnull", False)),
                    _connector="OR",
                ),
                name="point_reach_whole",
            ),
        ),
        migrations.AddConstraint(
            model_name="injectionentry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("picture__isnull", False), ("view", "picture")),
                    models.Q(
                        models.Q(("view", "picture"), _negated=True), ("picture__isnull", True)
                    ),
                    _connector="OR",
                ),
                name="point_picture_with_its_view",
            ),
        ),
        migrations.AddConstraint(
            model_name="injectionentry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("view__in", ["front", "right", "left", "neck", "hands", "picture"])
                ),
                name="point_view_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="marking",
            constraint=models.CheckConstraint(
                condition=models.Q(("view__in", ["front", "right", "left", "neck", "hands"])),
                name="marking_on_a_drawing",
            ),
        ),
        migrations.AddConstraint(
            model_name="marking",
            constraint=models.CheckConstraint(
                condition=models.Q(("side__in", ["left", "right", "midline"])),
                name="marking_side_is_known",
            ),
        ),
        migrations.AddIndex(
            model_name="operation",
            index=models.Index(fields=["session", "received_at"], name="operation_by_session"),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.CheckConstraint(
                condition=models.Q(("outcome__in", ["applied", "withdrawn"])),
                name="operation_outcome_is_kept",
            ),
        ),
        migrations.AddConstraint(
            model_name="sessionpicture",
            constraint=models.CheckConstraint(
                condition=models.Q(("height__gt", 0), ("width__gt", 0)), name="picture_has_a_size"
            ),
        ),
        migrations.AddConstraint(
            model_name="sessionpicture",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("distance_dmm__isnull", True),
                        ("x1__isnull", True),
                        ("x2__isnull", True),
                        ("y1__isnull", True),
                        ("y2__isnull", True),
                    ),
                    models.Q(
                        ("distance_dmm__gt", 0),
                        ("x1__isnull", False),
                        ("x2__isnull", False),
                        ("y1__isnull", False),
                        ("y2__isnull", False),
                        models.Q(("x1", models.F("x2")), ("y1", models.F("y2")), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="picture_scale_whole",
            ),
        ),
    ]
