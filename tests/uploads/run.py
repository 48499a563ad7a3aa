"""Spoiled files sent as photographs: each is kept clean or refused in words, never an error."""

import uuid
from collections import Counter
from dataclasses import dataclass, field
from random import Random

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from records.photographs.models import Photograph
from records.photographs.services.small import picture_bytes
from tests.factories import make_patient, make_user
from tests.records.sessions.pictures import decoded
from tests.uploads.mutations import KINDS, MUTATIONS, NAMES
from tests.uploads.seeds import MARK, seeds

_MARKS = [MARK.encode(encoding) for encoding in ("utf-8", "utf-16-le", "utf-16-be")]
# ISO/IEC 10918-1 table B.1: what a JPEG needs, and APP0, the size of its pixels.
_NEEDED = {0xC0, 0xC2, 0xC4, 0xDA, 0xDB, 0xE0}
_OF_JFIF = {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}


@dataclass
class Report:
    """What became of the files; each problem names the file so that it can be made again."""

    seed: int
    answers: Counter = field(default_factory=Counter)
    problems: list[str] = field(default_factory=list)

    @property
    def summary(self) -> str:
        kept, refused = self.answers[200], self.answers[422]
        return (
            f"{self.answers.total()} files of seed {self.seed}: {kept} kept without a word of what "
            f"was written into them, {refused} refused in words, {len(self.problems)} problems"
        )


def run(*, seed: int, files: int) -> Report:
    """Send so many files; the same seed makes the same files again."""
    report, chance, begun = Report(seed), Random(seed), seeds()  # noqa: S311
    injector = make_user("injector")
    client = Client(raise_request_exception=False, headers={"host": "localhost"})
    client.force_login(injector)
    patient = make_patient(injector)
    names = sorted(begun)
    for number in range(files):
        name, how = chance.choice(names), chance.choice(MUTATIONS)
        data = how(begun[name], chance, begun[chance.choice(names)]) or b"\x00"
        key = uuid.UUID(int=chance.getrandbits(128), version=4)
        answer = _send(client, patient, key, data, chance)
        report.answers[answer.status_code] += 1
        if problem := _problem(answer, key):
            report.problems.append(f"file {number}, {name}, {how.__name__}: {problem}")
    return report


def _send(client: Client, patient, key: uuid.UUID, data: bytes, chance: Random):
    image = SimpleUploadedFile(chance.choice(NAMES), data, chance.choice(KINDS))
    sent = {"image": image, "shot": "front:rest", "source": "upload", "record": "on"}
    return client.post(reverse("photograph-keep", args=[patient.pk, key]), sent)


def _problem(answer, key: uuid.UUID) -> str:
    if answer.status_code == 422:
        told = answer.json()["message"]
        return "" if told.endswith(".") and "Traceback" not in told else f"refused as {told!r}"
    if answer.status_code != 200:
        return f"answered with {answer.status_code}"
    photograph = Photograph.objects.get(key=key)
    return left_in(picture_bytes(photograph, "file"))


def left_in(kept: bytes) -> str:
    """What a kept picture says beyond its pixels, in words; empty if nothing."""
    if any(mark in kept for mark in _MARKS):
        return "words of the sent file were kept"
    if odd := set(_segments(kept)) - _NEEDED:
        return f"segments {sorted(map(hex, odd))} were kept"
    image = decoded(kept)
    if odd := set(image.info) - _OF_JFIF:
        return f"{sorted(odd)} were kept"
    if not kept.endswith(b"\xff\xd9"):
        return "bytes were kept behind the picture"
    return "" if (image.format, image.mode) == ("JPEG", "RGB") else f"a {image.mode} {image.format}"


def _segments(jpeg: bytes):
    """The markers of a JPEG up to its first scan (ISO/IEC 10918-1, B.1.1)."""
    place = 2
    while place + 4 <= len(jpeg):
        marker = jpeg[place + 1]
        yield marker
        if marker == 0xDA:
            return
        place += 2 + int.from_bytes(jpeg[place + 2 : place + 4])
