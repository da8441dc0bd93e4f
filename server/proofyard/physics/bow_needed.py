"""How much stronger a bow of the same make would have to be for the same arrow to carry more energy."""

from __future__ import annotations

from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_be_finite_result, must_not_be_negative

# Beyond this no bow is "of the same make": limbs, draw and archer are others.
MOST_TIMES = 3.0


def times_the_bow(needed_j: float, now_j: float, *, arrow_kg: float, virtual_kg: float = 0.0) -> float | CantTell:
    """By what factor draw weight and stored energy must grow, the draw and the arrow being the same.

    s = N m / (A (m + K) - N K), and with K = 0 that is s = N / A

    Takes
        needed_j    scalar, J, above 0      N, that the arrow shall leave the bow with
        now_j       scalar, J, above 0      A, that it leaves this bow with now
        arrow_kg    scalar, kg, above 0     m, the arrow
        virtual_kg  scalar, kg, 0 or more   K, the bow's virtual mass, that grows as the bow does. 0: the stronger bow's
                    limbs are as quick as this one's, so its efficiency stays
    Gives
        scalar, no unit; CantTell where no bow of this make gives that to this arrow, or only one over three times as strong
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        a stronger bow is this one, thicker: limbs grow in mass with the weight. Bowyers do better than that and worse than
        quick limbs, so the truth is expected between K and 0. Whether anyone draws it is another question
    Source
        A = m E / (m + K) with E and K both times s: the virtual mass of virtual_mass_of_pair, put to another bow. That K
        grows in proportion is common practice, no source. Checked in tests/published/test_bow_needed.py
    >>> times_the_bow(90.0, 60.0, arrow_kg=0.060)
    1.5
    >>> round(times_the_bow(75.0, 60.0, arrow_kg=0.060, virtual_kg=0.030), 4)
    1.4286
    """
    for name, value in (("needed_j", needed_j), ("now_j", now_j), ("arrow_kg", arrow_kg)):
        must_be_above_zero(name, value)
    must_not_be_negative("virtual_kg", virtual_kg)
    left = now_j * (arrow_kg + virtual_kg) - needed_j * virtual_kg
    if left <= 0:
        return CantTell(because("limbs_would_take_the_rest"))
    times = must_be_finite_result("times_the_bow", needed_j * arrow_kg / left)
    if times > MOST_TIMES:
        return CantTell(because("too_many_times_the_bow", most_times=MOST_TIMES))
    return times
