import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0004_ended_and_corrected"),
    ]

    operations = [
        migrations.CreateModel(
            name="Token",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=100)),
                (
                    "scope",
                    models.CharField(
                        choices=[("read", "may read"), ("write", "may read and enter")], default="read", max_length=5
                    ),
                ),
                ("mark", models.CharField(max_length=12, unique=True)),
                ("digest", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(null=True)),
                ("ended_at", models.DateTimeField(null=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="tokens", to="records.person"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="historyline",
            name="through",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.token"
            ),
        ),
    ]
