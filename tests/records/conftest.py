"""Gates of a clinic in which nothing is registered but the age and what a test says."""

import pytest

from records.gates import registry
from records.gates.keepers import age_gates
from records.gates.registry import Gate
from tests.records.gates.fakes import for_everybody


@pytest.fixture
def keep(monkeypatch):
    """`keep(gate, ...)`: these stand for everybody."""

    def register(*gates: Gate) -> None:
        monkeypatch.setattr(registry, "_keepers", [age_gates, for_everybody(*gates)])

    return register
