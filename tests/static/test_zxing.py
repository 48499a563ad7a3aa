"""The reader of codes that is served is the published one, and fetches nothing from elsewhere."""

import hashlib
import re
from pathlib import Path

import pytest

ZXING = Path(__file__).resolve().parents[2] / "static" / "zxing"
README = (ZXING / "README.md").read_text()
MODULE = ZXING / "reader" / "zxing_reader.wasm"
# A name with one of the endings that package hosts have, or any address.
HOST = re.compile(rb"//[a-z0-9.-]+\.[a-z]{2,}|\b[a-z0-9-]+\.(?:com|net|org|io|dev|cdn)\b", re.I)


def test_module_is_the_one_named():
    digest = hashlib.sha256(MODULE.read_bytes()).hexdigest()
    assert f"`{digest}`" in README
    # The package's own script holds the digest of the module that it was built with.
    assert digest in (ZXING / "reader" / "index.js").read_text()


def test_version_is_the_one_named():
    (version,) = re.findall(r"zxing-wasm (\d+\.\d+\.\d+)", README)
    assert f'"{version}"' in (ZXING / "share.js").read_text()


@pytest.mark.parametrize("text", [b"https://else.test/a", b"//cdn.else.net/a", b"else.io"])
def test_a_host_would_be_found(text):
    assert HOST.search(text)


def test_no_host_is_named():
    files = [path for path in ZXING.rglob("*") if path.suffix in {".js", ".wasm"}]
    assert len(files) == 3
    found = {path.name: HOST.findall(path.read_bytes()) for path in files}
    assert {name: hosts for name, hosts in found.items() if hosts} == {}


def test_licences_lie_beside_it():
    assert "MIT License" in (ZXING / "LICENSE").read_text()
    assert "Apache License" in (ZXING / "LICENSE-zxing-cpp").read_text()
