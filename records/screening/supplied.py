"""
The questions and rules a clinic starts from, in our own words. It changes them as it likes.

Each rule says how it is known. What is recalled and not checked against a text says so; local
guidance, the product's instructions and the injector's own judgement come first.
"""

from typing import NamedTuple

from planning.screening import Said
from planning.sources import Confidence
from records.patients.enums import AlertKind, AlertLevel
from records.screening.enums import QuestionKind

INTRO = (
    "Please answer as well as you can. Your answers help us to treat you safely; only those who "
    "treat you read them. If you are not sure, say so: we will ask you."
)


class SuppliedQuestion(NamedTuple):
    code: str
    section: str
    words: str
    help: str = ""
    kind: QuestionKind = QuestionKind.DETAIL


class SuppliedRule(NamedTuple):
    code: str
    level: AlertLevel
    kind: AlertKind
    text: str
    backing: Confidence = Confidence.COMMON_PRACTICE
    source: str = ""
    answer: Said = Said.YES


_NOW, _HEALTH, _ALLERGY = "Just now", "Your health", "Allergies"
_BEFORE, _MEDICINE, _WISHES = "Earlier treatments", "Medicines", "About you"

QUESTIONS = (
    SuppliedQuestion(
        "pregnancy", _NOW, "Are you pregnant, trying for a baby, or breastfeeding?",
        kind=QuestionKind.YES_NO,
    ),
    SuppliedQuestion(
        "infection", _NOW,
        "Do you have an infection, a spot, a cold sore or sore skin where you are to be treated, "
        "or a fever?",
    ),
    SuppliedQuestion(
        "dental", _NOW, "Have you been to the dentist for treatment in the last four weeks, or "
        "will you be in the next four?", "A check-up alone does not count.",
    ),
    SuppliedQuestion(
        "vaccine", _NOW,
        "Have you had a vaccination in the last four weeks, or will you have one in the next four?",
    ),
    SuppliedQuestion(
        "nerve-muscle", _HEALTH, "Do you have an illness of nerves and muscles?",
        "Such as myasthenia gravis, Lambert-Eaton syndrome or motor neurone disease.",
    ),
    SuppliedQuestion(
        "autoimmune", _HEALTH, "Do you have an autoimmune illness, or is your immune system weak?",
        "Such as lupus, rheumatoid arthritis, thyroid inflammation or Crohn’s disease.",
    ),
    SuppliedQuestion(
        "cold-sores", _HEALTH, "Have you ever had cold sores (herpes) on the lips or face?",
        "Tell us how often, and when last.",
    ),
    SuppliedQuestion(
        "keloid", _HEALTH, "Do your scars grow thick or large (keloid)?",
    ),
    SuppliedQuestion(
        "blood-thinner", _MEDICINE,
        "Do you take anything that thins the blood, or do you bleed or bruise easily?",
        "Such as warfarin, apixaban, clopidogrel, aspirin or fish oil.",
    ),
    SuppliedQuestion(
        "isotretinoin", _MEDICINE,
        "Have you taken isotretinoin (for acne) in the last six months?",
    ),
    SuppliedQuestion(
        "medicines", _MEDICINE, "Which other medicines do you take?",
        "With those you buy yourself. Leave it empty if there are none.", QuestionKind.TEXT,
    ),
    SuppliedQuestion(
        "lidocaine", _ALLERGY, "Have you ever reacted badly to a local anaesthetic, such as "
        "lidocaine?", "For instance at the dentist.",
    ),
    SuppliedQuestion(
        "hyaluronidase", _ALLERGY, "Are you allergic to hyaluronidase, which dissolves filler?",
    ),
    SuppliedQuestion(
        "stings", _ALLERGY, "Are you allergic to bee or wasp stings?", "What happened?",
    ),
    SuppliedQuestion(
        "other-allergy", _ALLERGY, "Are you allergic to anything else?",
    ),
    SuppliedQuestion(
        "other-filler", _BEFORE, "Have you had filler or another substance injected elsewhere?",
        "Where in the face, when, and with what, if you know.",
    ),
    SuppliedQuestion(
        "occlusion", _BEFORE,
        "Has a filler ever blocked a blood vessel, or has a treatment harmed skin or sight?",
    ),
    SuppliedQuestion(
        "looks", _WISHES,
        "Do thoughts about how you look take up much of your day, or keep you from things?",
        "You need not say more than you wish.",
    ),
    SuppliedQuestion(
        "anything-else", _WISHES, "Is there anything else we should know?", kind=QuestionKind.TEXT,
    ),
)  # fmt: skip

_ACE = "ACE Group guideline on filler complications (PMC5300719)"
_LABEL = "Toxin product information"
_FILLER = "Filler instructions for use"
_STOP, _CAUTION, _NOTE = AlertLevel.STOP, AlertLevel.CAUTION, AlertLevel.NOTE
_ILL, _REACTS = AlertKind.MEDICAL, AlertKind.ALLERGY
_PUBLISHED, _MEMORY = Confidence.PUBLISHED, Confidence.MEMORY

RULES = (
    SuppliedRule(
        "pregnancy", _STOP, _ILL, "Pregnant, trying or breastfeeding: safety not shown", _MEMORY,
        f"{_LABEL} and {_FILLER.lower()}",
    ),
    SuppliedRule(
        "infection", _STOP, _ILL, "Infection, or sore skin where treatment is planned", _MEMORY,
        f"{_LABEL} and {_FILLER.lower()}",
    ),
    SuppliedRule(
        "dental", _CAUTION, _ILL, "Dental treatment within four weeks: germs may reach the filler"
    ),
    SuppliedRule("vaccine", _CAUTION, _ILL, "Vaccination within four weeks: swelling over filler"),
    SuppliedRule(
        "nerve-muscle", _STOP, _ILL, "Illness of nerves and muscles: toxin may weaken", _MEMORY,
        _LABEL,
    ),
    SuppliedRule(
        "autoimmune", _CAUTION, _ILL, "Autoimmune illness or weak immune system", _PUBLISHED, _ACE
    ),
    SuppliedRule(
        "cold-sores", _CAUTION, _ILL, "Cold sores before: may return after injections at the lip"
    ),
    SuppliedRule("keloid", _CAUTION, _ILL, "Scars grow thick (keloid)", _MEMORY, _FILLER),
    SuppliedRule("blood-thinner", _CAUTION, _ILL, "Thinned blood or bleeds easily: bruising"),
    SuppliedRule("isotretinoin", _CAUTION, _ILL, "Isotretinoin within six months: slow healing"),
    SuppliedRule("medicines", _NOTE, _ILL, "Takes other medicines", answer=Said.WRITTEN),
    SuppliedRule(
        "lidocaine", _STOP, _REACTS, "Local anaesthetic: many fillers hold lidocaine", _MEMORY,
        _FILLER,
    ),
    SuppliedRule(
        "hyaluronidase", _STOP, _REACTS, "Hyaluronidase: no rescue if a vessel is blocked", _MEMORY,
        "Hyaluronidase product information",
    ),
    SuppliedRule(
        "stings", _CAUTION, _REACTS, "Bee or wasp stings: may react to hyaluronidase", _MEMORY,
        "Guidance on hyaluronidase",
    ),
    SuppliedRule("other-allergy", _CAUTION, _REACTS, "Another allergy"),
    SuppliedRule("other-filler", _CAUTION, _ILL, "Filler or another substance from elsewhere"),
    SuppliedRule("occlusion", _STOP, _ILL, "Blocked vessel, or skin or sight harmed before"),
    SuppliedRule(
        "looks", _CAUTION, AlertKind.OTHER, "Worried about looks: talk before you treat",
        _PUBLISHED, "GMC, guidance on cosmetic interventions, 2016",
    ),
)  # fmt: skip
