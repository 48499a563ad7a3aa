"""Ways to spoil a file: slips of a disk and a line, and what somebody would do on purpose."""

from collections.abc import Callable
from random import Random

EXTREMES = [b"\x00\x00\x00\x00", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\x80\x00\x00\x00"]
MAGICS = [
    b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"RIFF\x00\x00\x00\x00WEBP", b"GIF89a",
    b"\x00\x00\x00\x18ftypheic", b"%PDF-1.7", b"<svg xmlns=", b"II*\x00",
]  # fmt: skip


def bits(data: bytes, chance: Random, _) -> bytes:
    changed = bytearray(data)
    for _each in range(chance.choice([1, 1, 3, 30])):
        changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
    return bytes(changed)


def cut(data: bytes, chance: Random, _) -> bytes:
    return data[: chance.randrange(len(data))]


def hole(data: bytes, chance: Random, _) -> bytes:
    start = chance.randrange(len(data))
    return data[:start] + data[start + chance.randrange(1, 200) :]


def doubled(data: bytes, chance: Random, _) -> bytes:
    start = chance.randrange(len(data))
    piece = data[start : start + chance.randrange(1, 400)]
    return data[:start] + piece * chance.choice([2, 50]) + data[start:]


def extreme(data: bytes, chance: Random, _) -> bytes:
    """A length or a size that no file has, near the head where they stand."""
    start = chance.randrange(min(len(data), 200))
    return data[:start] + chance.choice(EXTREMES) + data[start + 4 :]


def noise(data: bytes, chance: Random, _) -> bytes:
    start = chance.randrange(len(data))
    return data[:start] + chance.randbytes(chance.randrange(1, 300)) + data[start:]


def spliced(data: bytes, chance: Random, other: bytes) -> bytes:
    return data[: chance.randrange(len(data))] + other[chance.randrange(len(other)) :]


def appended(data: bytes, chance: Random, other: bytes) -> bytes:
    return data + other


def disguised(data: bytes, chance: Random, _) -> bytes:
    magic = chance.choice(MAGICS)
    return magic + data[len(magic) :]


def untouched(data: bytes, chance: Random, _) -> bytes:
    return data


MUTATIONS: list[Callable[[bytes, Random, bytes], bytes]] = [
    bits, bits, cut, hole, doubled, extreme, extreme, noise, spliced, appended, disguised,
    untouched,
]  # fmt: skip

NAMES = [
    "front.jpg", "a" * 500 + ".png", "../../etc/passwd", "..\\..\\x.jpg", "عبد الرحمن.heic",
    "<img src=x>.svg", "x.jpg.exe", " ", "\u202egpj.exe", "null\x00byte.jpg",
]  # fmt: skip
KINDS = [
    "image/jpeg", "image/png", "image/heic", "image/svg+xml", "text/html", "", "x/" + "y" * 200,
]  # fmt: skip
