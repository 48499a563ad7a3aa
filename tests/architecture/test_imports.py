"""The import directions of DEVELOPERS.md hold, and the contracts in pyproject.toml would notice."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# A tree in order: every package, two capabilities each, files of the inner shape.
FILES = (
    "planning/totals.py",
    "planning/gtin.py",
    "clinic/staff/models.py",
    "clinic/staff/views.py",
    "clinic/stock/models.py",
    "clinic/stock/services.py",
    "records/patients/models.py",
    "records/patients/queries.py",
    "records/patients/services.py",
    "records/sessions/models.py",
    "records/sessions/services.py",
)


def lint_imports(folder: Path) -> subprocess.CompletedProcess:
    program = Path(sys.executable).with_name("lint-imports")
    return subprocess.run(
        [program, "--no-cache", "--no-logo"],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def small_tree(tmp_path):
    """A tree like ours under the same contracts, in which one line can be put."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for name in FILES:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        for folder in path.relative_to(tmp_path).parents[:-1]:
            (tmp_path / folder / "__init__.py").touch()
        path.touch()
    return tmp_path


def test_the_code_keeps_the_import_directions():
    answer = lint_imports(ROOT)
    assert answer.returncode == 0, answer.stdout + answer.stderr


def test_a_tree_in_order_passes(small_tree):
    (small_tree / "records/sessions/services.py").write_text(
        "from clinic.stock import services\n"
        "from planning import totals\n"
        "from records.patients import queries\n"
        "from records.sessions import models\n"
    )
    answer = lint_imports(small_tree)
    assert answer.returncode == 0, answer.stdout + answer.stderr


@pytest.mark.parametrize(
    ("lines", "contract"),
    [
        ({"planning/totals.py": "import django.utils.timezone"}, "knows no Django"),
        ({"planning/totals.py": "import clinic.stock.models"}, "planning < clinic < records"),
        ({"clinic/stock/services.py": "import records.patients.models"}, "planning < clinic"),
        ({"clinic/staff/models.py": "import clinic.staff.views"}, "run down this list"),
        ({"records/patients/queries.py": "import records.patients.services"}, "run down this"),
        (
            {
                "records/patients/services.py": "import records.sessions.models",
                "records/sessions/models.py": "import records.patients.models",
            },
            "No circles",
        ),
    ],
)
def test_a_wrong_import_is_noticed(small_tree, lines, contract):
    for name, line in lines.items():
        (small_tree / name).write_text(f"{line}\n")
    answer = lint_imports(small_tree)
    assert answer.returncode == 1, answer.stderr
    broken = [line for line in answer.stdout.splitlines() if line.endswith(" BROKEN")]
    assert any(contract in line for line in broken), answer.stdout
