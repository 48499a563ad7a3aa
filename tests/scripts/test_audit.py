"""`make audit` never takes silence for safety."""

import os
import subprocess
from pathlib import Path

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "audit"


def audit(folder: Path, pip_audit: str | None) -> subprocess.CompletedProcess:
    """With a stand-in for pip-audit, or none on the PATH."""
    if pip_audit is not None:
        stand_in = folder / "pip-audit"
        stand_in.write_text(f'#!/bin/bash\necho "$@" >> {folder}/asked\n{pip_audit}\n')
        stand_in.chmod(0o755)
    path = f"{folder}:/usr/bin:/bin"
    return subprocess.run(
        [SCRIPT], env={"PATH": path, "TMPDIR": str(folder)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


# The stand-ins write where they are told, as pip-audit does: the file follows --output.
WRITE = 'while [ "$1" != --output ]; do shift; done; echo "Name Version ID" > "$2"; '


@pytest.mark.parametrize(
    ("pip_audit", "status", "told"),
    [
        ("exit 0", 0, ""),
        (WRITE + "exit 1", 1, ""),
        ("exit 1", 2, "did not answer"),
        (None, 2, "needs pip-audit"),
    ],
    ids=["none known", "some known", "nobody answers", "no program"],
)
def test_each_outcome(tmp_path, pip_audit, status, told):
    answer = audit(tmp_path, pip_audit)
    assert (answer.returncode, told in answer.stderr) == (status, True), answer.stderr


def test_both_locks_are_asked_about_and_no_package_is_passed_over(tmp_path):
    audit(tmp_path, "exit 0")
    asked = (tmp_path / "asked").read_text().splitlines()
    assert [line.split()[-1] for line in asked] == [
        "requirements/runtime.txt", "requirements/dev.txt",
    ]  # fmt: skip
    # Without it pip-audit counts a package that its source does not know as one without weaknesses.
    assert all("--strict" in line.split() for line in asked)
    assert os.access(SCRIPT, os.X_OK)
