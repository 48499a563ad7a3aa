"""What `make` does when a system package is missing: install as root, else say the command."""

import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "system-packages"


@pytest.fixture
def run(tmp_path):
    """
    Runs the script without a browser on the machine.

    `apt-get` and `id` are stand-ins that come first on the PATH: nothing is installed here.
    """

    def start(*, root: bool, browser: str = "/no/such/browser", python: str = sys.executable):
        stand_ins = {
            "id": f"echo {0 if root else 1000}",
            "apt-get": f'echo "$@" >> {tmp_path}/asked',
        }
        for name, line in stand_ins.items():
            (tmp_path / name).write_text(f"#!/bin/sh\n{line}\n")
            (tmp_path / name).chmod(0o755)
        environment = {"PATH": f"{tmp_path}:/usr/bin:/bin", "CHROMIUM": browser, "PYTHON": python}
        return subprocess.run(
            [SCRIPT, "test"], env=environment, capture_output=True, text=True, check=False
        )

    return start


def asked_of_apt(tmp_path) -> list[str]:
    asked = tmp_path / "asked"
    return asked.read_text().splitlines() if asked.exists() else []


def test_root_gets_the_missing_package_installed(run, tmp_path):
    answer = run(root=True)
    assert answer.returncode == 0, answer.stderr
    assert asked_of_apt(tmp_path) == [
        "update -qq",
        "install --yes --no-install-recommends chromium-headless-shell -qq",
    ]


def test_others_are_told_the_exact_command(run, tmp_path):
    answer = run(root=False)
    assert answer.returncode == 1
    assert (
        "    sudo apt-get install --yes --no-install-recommends chromium-headless-shell\n"
        in answer.stderr
    )
    assert asked_of_apt(tmp_path) == []


def test_nothing_happens_where_everything_is_there(run, tmp_path):
    answer = run(root=True, browser=sys.executable)
    assert (answer.returncode, answer.stdout, answer.stderr) == (0, "", "")
    assert asked_of_apt(tmp_path) == []


def test_a_python_that_is_too_old_is_named(run, tmp_path):
    old = tmp_path / "python-old"
    old.write_text('#!/bin/sh\n[ "$1" = --version ] && echo "Python 3.9.2"\nexit 1\n')
    old.chmod(0o755)
    answer = run(root=True, python=str(old))
    assert answer.returncode == 1
    assert "Python 3.11 or later is needed; Python 3.9.2 was found." in answer.stderr
    assert asked_of_apt(tmp_path) == []
