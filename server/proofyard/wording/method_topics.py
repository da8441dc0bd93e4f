"""What the topics of the methods pages are called, and under which heading each stands: in the order in which a shot asks for them.

A topic is a file of physics or statistics; a test sees to it that each has its name here.
"""

from collections.abc import Mapping
from types import MappingProxyType

NAMES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "Speed and energy": {
            "energy": "Energy and momentum",
            "repeated_readings": "Repeated readings",
            "pooled_readings": "Pooled readings",
            "timing": "Speed from film or sound",
            "film_clock": "Camera time and book time",
            "sound_onsets": "Sounds of release and hit",
            "sound_pairs": "Which sounds belong together",
        },
        "Flight": {
            "air": "Air",
            "flight": "Drag and flight",
            "fall": "Fall of the arrow",
            "uncertainty_budget": "Where the uncertainty comes from",
        },
        "Bow": {
            "bow": "Stored energy of a bow",
            "virtual_mass": "Virtual mass of a bow",
            "bow_needed": "Draw weight needed",
            "another_bow": "Another bow’s speed",
        },
        "Head and panel": {"contact": "Shape of a head", "panel": "Mass and layers of a panel", "hardness": "Hardness and strength"},
        "Getting through": {
            "resistance": "Energy to get through plate, mail or cloth",
            "resistance_scaling": "What a change of the armour does",
            "resistance_of_missiles": "Blunt missiles at steel plates",
            "panel_impact": "Arrow and panel after the hit",
            "bounce_back": "Bounce-back speed",
        },
        "Blunt impact": {"trauma": "Blunt impact on a chest", "backing_drop": "Check of the backing"},
        "Shares and 50 % energy": {
            "shares": "Shares and their intervals",
            "clustered_shares": "Shares of shots that belong together",
            "claims": "Claims: at most 1 in so many through",
            "claim_shots": "Shots that a claim takes",
            "energy_claims": "Claims: 50 % energies, and how many times the energy",
            "fifty_percent_point": "50 % energy",
            "share_at_energy": "Share at an energy",
            "energy_uncertainty": "50 % energy with uncertain energies",
            "ballistic_limit": "Averaging limit",
            "penalised_logistic": "Fitted curve",
        },
        "Comparing": {
            "one_comparison": "The one comparison of two groups",
            "odds_within_levels": "Odds within levels of energy",
            "comparing": "Two shares compared",
            "comparing_by_ranks": "Depths and levels compared",
            "energy_for_weight": "Protection for weight",
            "head_life": "Shots that a head lasts",
            "which_measure": "Which measure explains",
            "several_groups": "Over several groups",
            "heads_by_curve": "Two heads compared by curve",
            "wear": "Earlier hits nearby",
            "drift": "Drift of a reading",
            "up_and_down": "Energies chosen by outcomes",
            "agreement": "Agreement of two readers",
        },
        "Planning": {"planning": "How many shots", "next_shot": "The next shot", "balanced_order": "Random order"},
    }
)
