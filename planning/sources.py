"""
Where the figures come from: one table, cited beside each limit and shown on the page with it.

A `Source` says how far it can be trusted (`Confidence`). "From memory" means recalled and not
checked against a text: such a figure may be offered as a setting, never presented as published.
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.vocabulary import Term


class Confidence(Term):
    """How a figure is known: ours, and those that the clinic keeps."""

    CLINIC_POLICY = "clinic_policy", "Clinic policy"
    PUBLISHED = "published", "Published source"
    COMMON_PRACTICE = "common_practice", "Common practice, no source"
    SECOND_HAND = "second_hand", "Read second-hand, not in the document itself"
    MEMORY = "memory", "From memory, not checked"

    @property
    def words(self) -> str:
        """Within a sentence: "clinic policy"."""
        return self.label.lower()


@dataclass(frozen=True, slots=True)
class Source:
    """A document (or the lack of one), what it says, and how it is known."""

    title: str
    detail: str
    confidence: Confidence

    def __str__(self) -> str:
        return f"{self.title}: {self.detail} ({self.confidence.words})"


def clinic_policy(detail: str) -> Source:
    """The clinic's own rule, as its policy page words it."""
    return Source("Clinic policy", detail, Confidence.CLINIC_POLICY)


DO_NOT_USE_LIST = Source(
    "Joint Commission, official Do Not Use list",
    "2018: leading zero, no trailing zero, 'unit' written in full",
    Confidence.PUBLISHED,
)
ERROR_PRONE_LIST = Source(
    "ISMP list of error-prone abbreviations and dose designations",
    "extract of 2006: commas at or above 1,000, a space between number and unit",
    Confidence.PUBLISHED,
)
FILLER_AGE = Source(
    "FDA page on dermal fillers",
    "approved uses are for adults 22 years or older",
    Confidence.PUBLISHED,
)
ENGLAND_MINIMUM_AGE = Source(
    "Botulinum Toxin and Cosmetic Fillers (Children) Act 2021, c. 19, ss. 1 and 2",
    "in England, from 1 October 2021, nobody under 18 is given either for cosmetic reasons, nor "
    "are arrangements made, whatever a parent agrees to; an example, local law comes first",
    Confidence.PUBLISHED,
)
EMERGENCY_ABILITY = Source(
    "Medical Board of Australia, guidelines on cosmetic procedures, 2016",
    "staff, facilities and equipment to deal with emergencies",
    Confidence.PUBLISHED,
)
HYALURONIDASE_STRENGTH = Source(
    "Occlusion guideline, J Clin Aesthet Dermatol 2021;14(5):E61-E69, as a 2022 article cites it",
    "up to 1,500 units in 1 mL, given until the skin is supplied again",
    Confidence.SECOND_HAND,
)
TIME_OUT = Source(
    "A pause before the first needle",
    "who, what against, agreed, pictured, what with and what if: each said aloud",
    Confidence.COMMON_PRACTICE,
)
FILLER_TISSUE = Source(
    "FDA page on dermal fillers",
    "not approved for injection into bone, tendon, ligament or muscle",
    Confidence.PUBLISHED,
)
FILLER_ON_FILLER = Source(
    "Filler where another filler lies",
    "another family hides what causes a late reaction, and hyaluronidase dissolves hyaluronic "
    "acid alone; as commonly taught",
    Confidence.COMMON_PRACTICE,
)
FILLER_YEARLY_VOLUME = Source(
    "Class statement in US filler instructions",
    "no more than 20 mL per 60 kg body mass per year",
    Confidence.MEMORY,
)
TOXIN_INTERVAL = Source(
    "Professional page on onabotulinumtoxinA",
    "treatments at least 90 days apart",
    Confidence.PUBLISHED,
)
TOXIN_CEILING = Source(
    "OnabotulinumtoxinA, US cosmetic label highlights, 2019",
    "no more than 400 units in a 3-month interval over all indications",
    Confidence.PUBLISHED,
)
TOXIN_NOT_INTERCHANGEABLE = Source(
    "OnabotulinumtoxinA, US cosmetic label highlights, 2019",
    "units are specific to each botulinum toxin preparation and not interchangeable",
    Confidence.PUBLISHED,
)
TOXIN_DILUTION = Source(
    "OnabotulinumtoxinA, two dilution guides",
    "100 units with 2.5 mL or 50 units with 1.25 mL of preservative-free 0.9 % sodium chloride: "
    "4 units per 0.1 mL",
    Confidence.PUBLISHED,
)
TOXIN_USE_WITHIN = Source(
    "OnabotulinumtoxinA, dilution guide",
    "used within 24 hours of reconstitution, kept at 2 to 8 °C meanwhile",
    Confidence.PUBLISHED,
)
TOXIN_DURATION = Source(
    "Dilution guide of onabotulinumtoxinA",
    "glabellar lines: the effect lasts about 3 to 4 months",
    Confidence.PUBLISHED,
)
FOLD_FILLER_SCORES = Source(
    "Fold fillers, meta-analysis of pooled trials, 2021",
    "mean wrinkle score 3.23 before, 1.79 after 1 month, 2.02 after 6 and 2.46 after 12 months",
    Confidence.PUBLISHED,
)
TOXIN_LABEL_TOTALS = Source(
    "OnabotulinumtoxinA, US cosmetic label highlights, 2019, and trial text",
    "20 units glabellar lines, 24 lateral canthal lines, 20 forehead lines, 64 in all",
    Confidence.PUBLISHED,
)
TOXIN_LABEL_SITES = Source(
    "OnabotulinumtoxinA, US cosmetic label highlights, 2019",
    "4 units a site: 5 sites in the glabella, 5 in the forehead, 6 lateral canthal, 3 on a side",
    Confidence.PUBLISHED,
)
OTHER_TOXINS_GLABELLA = Source(
    "J Drugs Dermatol 2021, review",
    "glabellar lines: incobotulinumtoxinA 20, prabotulinumtoxinA 20, abobotulinumtoxinA 50 units",
    Confidence.PUBLISHED,
)
LIDOCAINE_LABEL = Source(
    "Lidocaine hydrochloride for injection, US prescribing information",
    "healthy adults: 4.5 mg/kg and at most 300 mg without epinephrine, "
    "7 mg/kg and at most 500 mg with it",
    Confidence.PUBLISHED,
)
LIDOCAINE_ALL_SOURCES = Source(
    "Lidocaine topical solution, US prescribing information",
    "the dose from all formulations together counts",
    Confidence.PUBLISHED,
)
REGION_AMOUNTS = Source(
    "Usual amounts per region",
    "as commonly taught; no publication known",
    Confidence.COMMON_PRACTICE,
)
REGION_TECHNIQUES = Source(
    "Usual plane and technique per region",
    "as commonly taught; no publication known",
    Confidence.COMMON_PRACTICE,
)
PLAUSIBLE_ENTRY = Source(
    "Plausibility of an entry",
    "a figure chosen to catch slips of the hand, not a limit",
    Confidence.COMMON_PRACTICE,
)
SIDE_DIFFERENCE = Source(
    "Left and right compared",
    "a share chosen to catch a forgotten point, not a limit",
    Confidence.COMMON_PRACTICE,
)
PLANE_QUESTIONS = Source(
    "Plausibility of a plane",
    "toxin is placed in muscle or skin, filler in the glabella not in muscle",
    Confidence.COMMON_PRACTICE,
)
TOXIN_PLATYSMA = Source(
    "OnabotulinumtoxinA, US label, 2024",
    "platysma bands: 26, 31 or 36 units by severity",
    Confidence.MEMORY,
)
VISION_SIGNS = Source(
    "Tobalem et al., BMC Ophthalmol 2018;18:101; Singapore Med J 2016;57:438, expert review",
    "the retina survives most likely 12 to 15 minutes; stop, call and refer without delay",
    Confidence.PUBLISHED,
)
VASCULAR_SIGNS = Source(
    "Murray et al. (CMAC), J Clin Aesthet Dermatol 2021;14(5):E61-E69",
    "signs of an occlusion by filler, and that they can come late",
    Confidence.SECOND_HAND,
)
TOXIN_SPREAD = Source(
    "OnabotulinumtoxinA, US label, boxed warning",
    "distant spread hours to weeks after injection",
    Confidence.PUBLISHED,
)
EVENT_GRADES = Source(
    "Common Terminology Criteria for Adverse Events (CTCAE) v5.0, 27 November 2017",
    "grades 1 to 5, here in our own words; a grade says neither the cause nor who is to be told",
    Confidence.PUBLISHED,
)
EVENT_SERIOUSNESS = Source(
    "ICH E2A, clinical safety data management, 1994",
    "what makes an event serious; not the same as severe",
    Confidence.MEMORY,
)
EVENT_CAUSALITY = Source(
    "WHO-UMC system for standardised case causality assessment",
    "six categories, here in our own words",
    Confidence.MEMORY,
)
EVENT_REPORT_MEDICINE = Source(
    "ICH E2B(R3), individual case safety report; 21 CFR 310.305",
    "an identifiable patient, a reporter, an event and a suspected product, and what is known "
    "of each",
    Confidence.MEMORY,
)
EVENT_REPORT_DEVICE = Source(
    "21 CFR 803.32, user facility reports; (EU) 2017/745, Art. 27(5) for the device's identifier",
    "patient, event, device with its identifiers, reporter",
    Confidence.MEMORY,
)
EVENT_REPORTING = Source(
    "Reporting of adverse events",
    "duties and deadlines differ by country and product",
    Confidence.COMMON_PRACTICE,
)
NO_SOURCE = Source("No reference figure", "nothing to compare with", Confidence.COMMON_PRACTICE)
VOLUME_GRADES = Source(
    "Carruthers et al., Dermatol Surg 2012;38:320-332, validated scales for the mid face",
    "five points; the words as trial register NCT04594213 has them for like scales of the upper "
    "face, 0 no to 4 very severe",
    Confidence.SECOND_HAND,
)
MOVEMENT_GRADES = Source(
    "Trial register NCT02261493",
    "lines at greatest contraction: 0 none, 1 mild, 2 moderate, 3 severe",
    Confidence.PUBLISHED,
)
GS1_CHECK_DIGIT = Source(
    "GS1 General Specifications",
    "section 7.9, standard check digit calculation",
    Confidence.PUBLISHED,
)
IMPROVEMENT_SCALE = Source(
    "Global Aesthetic Improvement Scale",
    "1 very much improved to 5 worse, against the time before; lower is better, no validated "
    "cut-off",
    Confidence.SECOND_HAND,
)
IMPROVED_CUT = Source(
    "Improved or better",
    "grades 1 to 3 counted together; the scale itself names no cut-off",
    Confidence.COMMON_PRACTICE,
)
SATISFACTION_SCALE = Source(
    "Satisfaction from 0 to 10",
    "0 not at all, 10 fully satisfied, as the patient says",
    Confidence.COMMON_PRACTICE,
)
WILSON_INTERVAL = Source(
    "Wilson, J Am Stat Assoc 1927;22:209-212",
    "score interval of a proportion, recommended by Newcombe, Stat Med 1998;17:857-872",
    Confidence.PUBLISHED,
)
QUARTILES = Source(
    "Hyndman and Fan, Am Stat 1996;50:361-365",
    "definition 1, the inverse of the distribution: quartiles are answers that were given",
    Confidence.SECOND_HAND,
)
KAPLAN_MEIER = Source(
    "Kaplan and Meier, J Am Stat Assoc 1958;53:457-481",
    "product-limit estimate: who still waits counts for as long as was waited",
    Confidence.PUBLISHED,
)
EXACT_PROPORTION = Source(
    "Clopper and Pearson, Biometrika 1934;26:404-413",
    "exact interval of a proportion from both binomial tails",
    Confidence.PUBLISHED,
)
EXACT_COUNT = Source(
    "Garwood, Biometrika 1936;28:437-442",
    "exact interval of a Poisson count from both tails",
    Confidence.PUBLISHED,
)
FUNNEL_PLOT = Source(
    "Spiegelhalter, Stat Med 2005;24:1185-1202",
    "limits at 95 % and 99.8 % around the pooled rate, drawn against the size",
    Confidence.PUBLISHED,
)
FUNNEL_INTERPOLATION = Source(
    "Spiegelhalter, Stat Med 2005;24:1185-1202, appendix",
    "exact binomial limits, interpolated between whole counts",
    Confidence.MEMORY,
)
FISHER_EXACT = Source(
    "Fisher's exact test of two proportions",
    "two-sided: the probabilities of all outcomes that are no more likely, added",
    Confidence.MEMORY,
)
RECALL_EFFECTIVENESS = Source(
    "US 21 CFR 7.42(b)(3)",
    "effectiveness checks: A 100 %, B more than 10 % and less than 100 %, C 10 %, D 2 %, E none",
    Confidence.SECOND_HAND,
)
REORDER_POINT = Source(
    "Textbooks of operations management",
    "reorder point = demand in the lead time + safety stock, here the use of some spare days",
    Confidence.SECOND_HAND,
)
FRIDGE_RANGE = Source(
    "USP Quality Review No. 40, 1994, storage definitions of the General Notices",
    "a refrigerator is a cold place kept between 2 and 8 °C",
    Confidence.PUBLISHED,
)
FRIDGE_READINGS = Source(
    "Vaccine Storage and Handling Toolkit (CDC), 2020, as told by the AAP",
    "a thermometer without a memory of lowest and highest is read at least twice a day",
    Confidence.SECOND_HAND,
)
PHOTO_SERIES = Source(
    "Behr, Aitson and Hoffman, Photography for the Aesthetic Surgeon (book chapter)",
    "a set series of views for each procedure, so that the same ones are taken each time",
    Confidence.PUBLISHED,
)
PHOTO_VIEWS = Source(
    "Textbooks of facial photography",
    "front, both obliques and both profiles, the head level, looking straight ahead",
    Confidence.MEMORY,
)
PHOTO_MOVEMENTS = Source(
    "Chapter 10.1201/9781003304623-11, abstract",
    "pictures at rest and in movement at the first consultation; which movements is practice",
    Confidence.PUBLISHED,
)
FACE_LANDMARKS = Source(
    "Farkas, Anthropometry of the Head and Face, 2nd ed. 1994",
    "corners of the eyes (endocanthion, exocanthion), subnasale, tragion and gonion as landmarks",
    Confidence.MEMORY,
)
TIME_TO_THINK = Source(
    "Medical Board of Australia, guidelines in force 1 October 2016",
    "7 days from consultation to procedure, for adults minor procedures excepted; under 18 also "
    "before a minor one, 3 months before a major one",
    Confidence.PUBLISHED,
)
OCCLUSION_RATE = Source(
    "Alam et al., JAMA Dermatol 2021;157:174-180",
    "an occlusion in 1 of 6,410 syringes by needle and 1 of 40,882 by microcannula",
    Confidence.PUBLISHED,
)
SIGHT_AFTER_FILLER = Source(
    "Doyon et al., Aesthet Surg J 2024",
    "318 people with a known outcome: sight came back in 6.0 %, in part in 25.8 %, not in 68.2 %",
    Confidence.PUBLISHED,
)
DELAYED_NODULES = Source(
    "Dermatol Surg 2015, PubMed 26166260",
    "delayed nodules in 0.5 % of patients, half of them later than 4 months",
    Confidence.PUBLISHED,
)
HYALURONIDASE_ACTION = Source(
    "ACE Group guideline 2018, version 2.4",
    "half-life of 2 minutes, action over 24 to 48 hours",
    Confidence.PUBLISHED,
)
STING_ALLERGY = Source(
    "Hyaluronidase and insect venom",
    "an allergy to wasp or bee stings is asked about first",
    Confidence.MEMORY,
)
CONSENT_VALIDITY = Source(
    "How long a consent holds",
    "no published figure known; ask what your law and your insurer want",
    Confidence.COMMON_PRACTICE,
)
