"""
What a patient is told to do, and to look out for, after a treatment: the words that come with the
program, until the clinic writes its own.

Common practice in this project's own words, no source but where one is named; local codes and the
maker's instructions come first. The signs are those of `warning_signs`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planning.sources import (
    TOXIN_SPREAD,
    VASCULAR_SIGNS,
    VISION_SIGNS,
    Confidence,
    Source,
)
from planning.vocabulary import ProductKind, Term

AFTERCARE_ADVICE = Source(
    "Advice after injections", "as commonly taught; no publication known",
    Confidence.COMMON_PRACTICE,
)  # fmt: skip


class AftercareKind(Term):
    """What was done, as far as the advice differs."""

    FILLER = "filler", "Filler"
    TOXIN = "toxin", "Toxin"
    DISSOLVING = "dissolving", "Dissolving filler"


_KINDS = {
    ProductKind.HA_FILLER: AftercareKind.FILLER,
    ProductKind.OTHER_FILLER: AftercareKind.FILLER,
    ProductKind.TOXIN: AftercareKind.TOXIN,
    ProductKind.HYALURONIDASE: AftercareKind.DISSOLVING,
}

ADVISED_KINDS = frozenset(_KINDS)
"""The kinds of product that there is advice for."""


def kinds_after(products: Iterable[ProductKind]) -> tuple[AftercareKind, ...]:
    """The kinds of advice that go with what was given, each once, in the order of the enum."""
    given = {_KINDS[product] for product in products if product in _KINDS}
    return tuple(kind for kind in AftercareKind if kind in given)


@dataclass(frozen=True, slots=True)
class Advice:
    """
    Attributes:
        lines: what to do and not to do.
        signs: when to call the clinic at once; the signs of an emergency stand on every sheet.
        sources: whose word it is.
    """

    lines: tuple[str, ...]
    signs: tuple[str, ...]
    sources: tuple[Source, ...]


EMERGENCY_LINES = (
    "you see less, blurred or double, an eye hurts or a lid droops",
    "one side of the face or body is weak, or it is hard to speak or think clearly",
    "it is hard to breathe or swallow, or your tongue or throat swells",
)
"""On every sheet and page, whatever the clinic writes. Source: `VISION_SIGNS`."""

SUPPLIED = {
    AftercareKind.FILLER: Advice(
        lines=(
            "Some swelling, redness, tenderness and bruising are usual for some days.",
            "Do not press, rub or massage the places, unless we showed you how.",
            "No make-up on the places until tomorrow; wash your face gently with clean hands.",
            "No sauna, hot bath, sunbed, hard exercise or much alcohol for two days.",
            "No visit to the dentist and no other treatment of the face for two weeks, "
            "unless it is urgent.",
            "If you get cold sores and one comes, tell us early.",
        ),
        signs=(
            "pain that is strong, or grows instead of easing",
            "skin that turns white, blue or blotchy like marble, or stays pale after you press it",
            "blisters, or skin that breaks",
            "redness, heat or swelling that grows, pus or fever, also weeks or months later",
        ),
        sources=(AFTERCARE_ADVICE, VASCULAR_SIGNS, VISION_SIGNS),
    ),
    AftercareKind.TOXIN: Advice(
        lines=(
            "Small bumps and redness go within hours; a bruise or a light headache may last days.",
            "Do not press, rub or massage the places today.",
            "Stay upright for four hours, and no hard exercise, sauna or hot bath until tomorrow.",
            "The effect begins after some days and is whole after about two weeks: wait until "
            "then before you judge it.",
        ),
        signs=(
            "weakness where nothing was injected, also weeks later",
            "a voice that changes, or trouble with swallowing or breathing: "
            "then call the emergency services",
            "redness, heat or swelling that grows, pus or fever",
        ),
        sources=(AFTERCARE_ADVICE, TOXIN_SPREAD, VISION_SIGNS),
    ),
    AftercareKind.DISSOLVING: Advice(
        lines=(
            "Swelling, redness and bruising are usual for some days.",
            "The places may look emptier than before at first; wait two weeks before you judge.",
            "Do not press, rub or massage the places, unless we showed you how.",
            "No sauna, hot bath, hard exercise or much alcohol for two days.",
        ),
        signs=(
            "itching, hives or swelling away from the places",
            "pain that is strong, or grows instead of easing",
            "skin that turns white, blue or blotchy like marble",
            "redness, heat or swelling that grows, pus or fever",
        ),
        sources=(AFTERCARE_ADVICE, VASCULAR_SIGNS, VISION_SIGNS),
    ),
}
