"""
The vessels to beware of, with their usual depth.

Vessels vary from head to head and hand to hand; each line is drawn through published mean distances
where there are any (the source says which) and otherwise by eye (LAYOUT). Depths are means of
groups, often of cadavers. No line here is a "safe line" and no depth a safe depth.
"""

from __future__ import annotations

from planning.atlas.measurements import Mark
from planning.atlas.overlays import Vessel

_CUTRIGHT = "Cutright 2003, J Oral Maxillofac Surg, 80 heads"
_YANG = "Yang 2014, Plast Reconstr Surg, 60 half faces"
_META = "meta-analysis, Folia Morphol 2025"
_GLABELLA = "Clin Anat 2020;33:370-382, 19 cadavers and 14 volunteers"
_LIPS = "Aesthet Surg J 2020;40:1327, 41 volunteers"
_MEMORY = "from memory, not checked"

# Facial artery in front: 13.5 mm lateral to the mouth corner, 3.2 mm lateral to the ala (Yang), by
# eye below and above. Another series (CT, 150 adults) puts it lateral to the fold in every case.
VESSELS: tuple[Vessel, ...] = (
    Vessel(
        "supratrochlear",
        "Supratrochlear artery",
        ((14.4, -1.5), (14.7, -11), (14.0, -26), (12.6, -42)),
        ((-3.6, -1.5), (-1.6, -11), (-1.6, -26), (-4.6, -42)),
        "14.7 mm from the midline at glabella level: Clin Anat 2020;33:370-382",
        Mark.READ,
        "About 4 to 6 mm between the brows, nearer to the skin on its way up (3.5 mm)",
        f"4.2 mm superficial and 5.9 mm deep branch: {_GLABELLA}; 4.45 to 3.53 mm: {_META}",
        Mark.READ,
    ),
    Vessel(
        "supraorbital",
        "Supraorbital artery",
        ((25.0, -3.5), (25.6, -14), (26.8, -28), (27.4, -44)),
        ((-9, -3.5), (-8.2, -14), (-9.6, -28), (-13.6, -44)),
        f"25 mm from the midline at the rim: {_CUTRIGHT}; upwards by eye",
        Mark.READ,
        "About 5.5 mm at and above the brow",
        f"5.68 mm at glabella level, 5.53 mm above the brow: {_META}",
        Mark.READ,
    ),
    Vessel(
        "dorsal_nasal",
        "Dorsal nasal artery",
        ((13.6, 3.0), (8.4, 8.6), (4.6, 17), (3.8, 28), (4.6, 38)),
        ((-4.6, 4.0), (-0.4, 9.4), (5.4, 17), (12.6, 27), (19.6, 36)),
        "from the inner corner of the eye down the bridge; course by eye, very variable",
        Mark.LAYOUT,
        "Mostly superficial; deep in some at the root and the middle of the bridge",
        "book chapter, extract",
        Mark.READ,
    ),
    Vessel(
        "facial",
        "Facial artery",
        ((38.2, 97.0), (39.6, 84), (38.6, 68.9), (31.4, 59), (24, 51.6), (18.9, 44.0)),
        ((-41, 101.6), (-35, 88), (-20.4, 70), (-13, 60), (-4, 51.5), (4.4, 45)),
        f"13.5 ± 5.4 mm lateral to the mouth corner, 3.2 ± 4.5 mm lateral to the ala: {_YANG}; "
        "another series (Aesthet Surg J 2021;41:697) puts it lateral to the fold in all",
        Mark.READ,
        "21.6 mm at the mouth corner and 8.9 mm at the ala in one series, 13.7 ± 3.7 mm at the ala "
        "in another; 7.6 mm where it lies exposed in the lower cheek",
        "Aesthet Surg J 2021;41:697, CT of 150; Aesthet Surg J 2021, n = 156; "
        "Clin Anat 2020;33:257-264",
        Mark.READ,
    ),
    Vessel(
        "angular",
        "Angular artery",
        ((18.9, 44.0), (15.6, 32), (12.6, 20), (13.2, 8), (14.4, -1.5)),
        ((4.4, 45), (2.4, 32), (-2.2, 20), (-5.0, 8), (-3.6, -1.5)),
        "continues the facial artery beside the nose; course by eye, very variable",
        Mark.LAYOUT,
        "About 5 mm at the ala, 3 mm above it, 1 mm at the inner corner of the eye",
        "5.06 and 3.13 mm: Dermatol Surg, 18 cadavers; 1.02 ± 0.62 mm: Aesthet Surg J 2021, "
        "n = 156",
        Mark.READ,
    ),
    Vessel(
        "superior_labial",
        "Superior labial artery",
        ((36.2, 65.0), (28, 64.6), (19, 64.4), (10, 61.8), (0, 62.6)),
        ((-18.6, 67), (-9, 65.2), (0, 63.4), (8, 62), (15.2, 62.4)),
        "starts 12.1 ± 3.1 mm lateral to the mouth corner: Plast Reconstr Surg 2015;135:445; "
        "in the red lip at the midline",
        Mark.READ,
        "About 5.5 mm, submucosal in most, in the muscle in about a third; 3 mm in one series",
        f"5.6 ± 0.1 mm: {_LIPS}; 5.3 ± 0.3 mm: Clin Anat 2020;33:158; "
        "3 mm: Plast Reconstr Surg 2015;135:445",
        Mark.READ,
    ),
    Vessel(
        "inferior_labial",
        "Inferior labial artery",
        ((38.9, 77.0), (30, 76.8), (20, 75), (10, 76.4), (0, 76.6)),
        ((-26.6, 78), (-13, 77.4), (-3, 75.4), (6, 76), (12.4, 76.4)),
        "in the red lip at the midline: Aesthet Surg J 2020;40:1327; course by eye",
        Mark.LAYOUT,
        "About 4 to 6 mm, submucosal in most",
        f"5.2 ± 0.1 mm: {_LIPS}; 4.2 ± 0.4 mm: Clin Anat 2020;33:158; danger plane 6 mm at the lip "
        "border: Plast Reconstr Surg Glob Open 2019;7:e2399",
        Mark.READ,
    ),
    Vessel(
        "superficial_temporal",
        "Superficial temporal artery",
        ((66.2, 30), (65.2, 12), (63.4, -4), (57, -22), (47, -34)),
        ((-84, 44), (-82.4, 24), (-77, 4), (-64, -18), (-44, -36)),
        "runs up in front of the ear; frontal branch; course by eye",
        Mark.LAYOUT,
        "In the superficial temporal fascia, under the fat below the skin",
        _MEMORY,
        Mark.MEMORY,
    ),
    Vessel(
        "middle_temporal_vein",
        "Middle temporal vein",
        ((55.6, 8.4), (60.6, 6.8)),
        ((-45, 9.4), (-56, 6.6), (-68, 6.2), (-80, 9.6)),
        "2.0 to 2.8 cm above the zygomatic arch: CT of 200, Aesthetic Plast Surg; its ends by eye",
        Mark.READ,
        "Between the two sheets of the deep temporal fascia, in the fat there",
        _MEMORY,
        Mark.MEMORY,
    ),
    Vessel(
        "external_jugular",
        "External jugular vein",
        (),
        (),
        "from the angle of the jaw across the muscle to the collar bone; course by eye",
        Mark.LAYOUT,
        "Just under platysma",
        _MEMORY,
        Mark.MEMORY,
        neck=(((44.6, 100), (42.2, 124), (43.4, 150), (47.6, 172), (53.4, 189.6)),),
    ),
    Vessel(
        "anterior_jugular",
        "Anterior jugular vein",
        (),
        (),
        "beside the midline from under the chin; jugular arch above the notch; course by eye",
        Mark.LAYOUT,
        "Just under platysma, in front of the deep fascia",
        _MEMORY,
        Mark.MEMORY,
        neck=(
            ((11.6, 124), (10.2, 142), (9.6, 160), (9.0, 178), (11, 187), (18, 189.4)),
            ((0, 184), (4.6, 183.4), (9.2, 181)),
        ),
    ),
    Vessel(
        "dorsal_hand_veins",
        "Dorsal venous network of the hand",
        (),
        (),
        "an arch over the metacarpals with a vein from each web; course by eye, never the same",
        Mark.LAYOUT,
        "Between the skin and the extensor tendons",
        _MEMORY,
        Mark.MEMORY,
        hands=(
            ((104.6, 90), (100.4, 68), (94.4, 48), (88, 40)),
            ((85.8, 94), (84.6, 70), (86, 52), (88, 40)),
            ((65.8, 93), (67.2, 72), (70.4, 54), (71.4, 38)),
            ((88, 40), (79.6, 34.6), (71.4, 38), (62, 30), (57.2, 12), (57.8, -16)),
            ((88, 40), (95.6, 24), (100.6, 6), (100.8, -16)),
        ),
    ),
    Vessel(
        "radial_at_thumb",
        "Radial artery in the hollow of the thumb",
        (),
        (),
        "from the wrist through the hollow between the thumb's tendons to the first web; by eye",
        Mark.LAYOUT,
        "Deep to the tendons of the thumb, on the bones of the wrist",
        _MEMORY,
        Mark.MEMORY,
        hands=(((54.8, -4), (54.4, 12), (56.4, 28), (57, 38)),),
    ),
)
