"""
One part of the bench on the database of DATABASE_URL: `python -m tests.bench.part PART ACT`.

Building and measuring are two processes, so that what the building left in memory is not measured.
The lines of the table go to stdout as JSON, one each.
"""

import importlib
import json
import os
import sys
from dataclasses import asdict

import django


def main(part: str, act: str) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"
    django.setup()
    from django.core.management import call_command

    from tests.bench.building import instead_of_default, scaled

    module = importlib.import_module(f"tests.bench.{part}")
    # Parts that compare two clinics name them; the others have one of a million.
    sizes = getattr(module, "SIZES", {"default": scaled(1_000_000, 2_000)})
    if act == "build":
        for alias, count in sizes.items():
            with instead_of_default(alias):
                call_command("migrate", verbosity=0, stdout=sys.stderr)
                module.build(count)
    else:
        for result in module.measure():
            print(json.dumps(asdict(result)), flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
