"""Which hardness goes with which, and with about what strength, as printed. Figures, no formulas.

From 238 HV up: SAE J417 (rev. 1983) and ASTM E140 Table 1 for non-austenitic steels, as quenched and tempered. Rockwell
C, Vickers and Brinell columns seen in three reprints; tensile strength seen from 43 HRC up, from memory below, where it
agrees with a reprint in ksi to 1.5 %. Brinell above 634 is in brackets in print, outside the method, and left out.

Under 238 HV: DIN 50150 / ISO 18265 Table A.1 for unalloyed and low-alloy steels, hot-rolled or heat-treated, seen in
three reprints (of which one has 250 for 255 MPa and 380 for 385 MPa: the other two are followed).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

# Vickers -> Brinell, MPa.
_SOFT: tuple[tuple[int, float, int], ...] = (
    (80, 76.0, 255),
    (85, 80.7, 270),
    (90, 85.5, 285),
    (95, 90.2, 305),
    (100, 95.0, 320),
    (105, 99.8, 335),
    (110, 105, 350),
    (115, 109, 370),
    (120, 114, 385),
    (125, 119, 400),
    (130, 124, 415),
    (135, 128, 430),
    (140, 133, 450),
    (145, 138, 465),
    (150, 143, 480),
    (155, 147, 495),
    (160, 152, 510),
    (165, 156, 530),
    (170, 162, 545),
    (175, 166, 560),
    (180, 171, 575),
    (185, 176, 595),
    (190, 181, 610),
    (195, 185, 625),
    (200, 190, 640),
    (205, 195, 660),
    (210, 199, 675),
    (215, 204, 690),
    (220, 209, 705),
    (225, 214, 720),
    (230, 219, 740),
    (235, 223, 755),
)
# Rockwell C -> Vickers, Brinell, MPa.
_HARD: tuple[tuple[int, int, int | None, int | None], ...] = (
    (20, 238, 226, 760),
    (21, 243, 231, 770),
    (22, 248, 237, 785),
    (23, 254, 243, 805),
    (24, 260, 247, 825),
    (25, 266, 253, 840),
    (26, 272, 258, 860),
    (27, 279, 264, 880),
    (28, 286, 271, 910),
    (29, 294, 279, 930),
    (30, 302, 286, 950),
    (31, 310, 294, 980),
    (32, 318, 301, 1000),
    (33, 327, 311, 1025),
    (34, 336, 319, 1055),
    (35, 345, 327, 1080),
    (36, 354, 336, 1115),
    (37, 363, 344, 1160),
    (38, 372, 353, 1180),
    (39, 382, 362, 1215),
    (40, 392, 371, 1250),
    (41, 402, 381, 1295),
    (42, 412, 390, 1340),
    (43, 423, 400, 1385),
    (44, 434, 409, 1435),
    (45, 446, 421, 1480),
    (46, 458, 432, 1530),
    (47, 471, 443, 1580),
    (48, 484, 455, 1635),
    (49, 498, 469, 1695),
    (50, 513, 481, 1760),
    (51, 528, 496, 1820),
    (52, 544, 512, 1880),
    (53, 560, 525, 1950),
    (54, 577, 543, 2015),
    (55, 595, 560, 2075),
    (56, 613, 577, None),
    (57, 633, 595, None),
    (58, 653, 615, None),
    (59, 674, 634, None),
    (60, 697, None, None),
    (61, 720, None, None),
    (62, 746, None, None),
    (63, 772, None, None),
    (64, 800, None, None),
    (65, 832, None, None),
    (66, 865, None, None),
    (67, 900, None, None),
    (68, 940, None, None),
)

# Each scale's printed values beside their Vickers numbers, both rising.
BESIDE_VICKERS: Mapping[str, tuple[tuple[float, float], ...]] = MappingProxyType(
    {
        "HV": ((80.0, 80.0), (940.0, 940.0)),
        "HRC": tuple((float(hrc), float(hv)) for hrc, hv, _, _ in _HARD),
        "HBW": tuple((float(hbw), float(hv)) for hv, hbw, _ in _SOFT)
        + tuple((float(hbw), float(hv)) for _, hv, hbw, _ in _HARD if hbw is not None),
        "MPa": tuple((float(mpa), float(hv)) for hv, _, mpa in _SOFT)
        + tuple((float(mpa), float(hv)) for _, hv, _, mpa in _HARD if mpa is not None),
    }
)

# ASTM E18, least thickness in mm and the least hardness that it allows on each scale, as reprinted in a tester's manual.
THINNEST: Mapping[str, tuple[tuple[float, float], ...]] = MappingProxyType(
    {
        "HRC": ((0.56, 69), (0.61, 67), (0.66, 65), (0.71, 62), (0.76, 57), (0.81, 52), (0.86, 45), (0.91, 37), (0.96, 28), (1.02, 20)),
        "HRA": ((0.41, 86), (0.46, 84), (0.51, 82), (0.56, 79), (0.61, 76), (0.66, 71), (0.71, 67), (0.76, 60)),
        "HRB": ((0.61, 94), (0.66, 87), (0.71, 80), (0.76, 71), (0.81, 62), (0.86, 52), (0.91, 40), (0.96, 28)),
    }
)
