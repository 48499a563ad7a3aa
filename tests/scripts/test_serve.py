"""`make serve` says in one sentence what keeps a clinic from being served."""

import os
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def serve(**settings: str) -> subprocess.CompletedProcess:
    kept = {name: text for name, text in os.environ.items()
            if not name.startswith(("CLINIC_", "DATABASE_", "DJANGO_"))}  # fmt: skip
    return subprocess.run(
        [ROOT / "scripts" / "serve"], env=kept | settings, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


def test_a_weak_key_is_refused_without_being_told(tmp_path):
    answer = serve(CLINIC_SECRET_KEY="letmein", CLINIC_VAR=str(tmp_path))
    assert answer.returncode == 2
    assert "CLINIC_SECRET_KEY is too easy to guess" in answer.stderr
    assert "letmein" not in answer.stderr
    assert "Traceback" not in answer.stderr
    assert "docs/running.md" in answer.stderr


def test_settings_come_from_a_file(tmp_path):
    file = tmp_path / "clinic.env"
    answer = serve(ENV_FILE=str(file))
    assert (answer.returncode, "cannot be read" in answer.stderr) == (2, True)
    file.write_text(f"CLINIC_SECRET_KEY={'Zq7-PwJ3nX_8rTfUa2Ld' * 3}\nCLINIC_HTTPS=no\n")
    answer = serve(ENV_FILE=str(file), CLINIC_VAR=str(tmp_path))
    assert answer.returncode == 2
    assert "CLINIC_HTTPS must not be no" in answer.stderr
    assert "CLINIC_HOSTS must name the host people open" in answer.stderr
