import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("office", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="Misses",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("origin", models.CharField(max_length=60, unique=True)),
                ("count", models.PositiveIntegerField(default=0)),
                ("since", models.DateTimeField(db_index=True, default=django.utils.timezone.now)),
            ],
        ),
        migrations.AddField(
            model_name="person",
            name="stamp",
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="quote",
            name="agreed",
            field=models.DecimalField(decimal_places=2, max_digits=14, null=True),
        ),
        migrations.AddField(
            model_name="quote",
            name="sent",
            field=models.DateTimeField(null=True),
        ),
        migrations.AlterField(
            model_name="quote",
            name="state",
            field=models.CharField(
                choices=[
                    ("draft", "Draft"),
                    ("sent", "Sent"),
                    ("accepted", "Accepted"),
                    ("withdrawn", "Withdrawn"),
                    ("replaced", "Replaced"),
                ],
                default="draft",
                max_length=10,
            ),
        ),
        migrations.CreateModel(
            name="Link",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(choices=[("join", "Join"), ("reset", "Reset")], max_length=8)),
                ("digest", models.CharField(max_length=64, unique=True)),
                (
                    "role",
                    models.CharField(
                        choices=[("owner", "Owner"), ("crew", "Crew"), ("away", "Away")],
                        default="crew",
                        max_length=8,
                    ),
                ),
                ("name", models.CharField(blank=True, max_length=120)),
                ("made", models.DateTimeField(default=django.utils.timezone.now)),
                ("ends", models.DateTimeField()),
                ("used", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="links",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Terms",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("options", models.JSONField(default=list)),
                ("distance", models.CharField(blank=True, max_length=24)),
                ("drive", models.CharField(blank=True, max_length=24)),
                ("trips", models.PositiveSmallIntegerField(null=True)),
                ("permits", models.JSONField(default=list)),
                ("asked", models.CharField(blank=True, max_length=24)),
                (
                    "book",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.SET_NULL, to="office.book"
                    ),
                ),
                (
                    "job",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE, related_name="terms", to="office.job"
                    ),
                ),
            ],
        ),
    ]
