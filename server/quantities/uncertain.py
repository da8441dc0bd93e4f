"""A value and how well it is known."""

from dataclasses import dataclass
from math import isfinite, isnan


@dataclass(frozen=True)
class Uncertain:
    """A value in SI with its standard uncertainty (one standard deviation, same unit; None: not known).

    `dof` are the degrees of freedom behind the uncertainty; infinite for one that is known exactly, such as a
    rectangular half-width divided by the root of three (GUM G.4.3, from memory). `n` is how many readings it rests on.
    """

    value: float
    standard_uncertainty: float | None
    dof: float | None = None
    n: int | None = None

    def __post_init__(self) -> None:
        if not isfinite(self.value):
            raise ValueError(f"the value has to be finite, not {self.value}")
        u = self.standard_uncertainty
        if u is not None and not (isfinite(u) and u >= 0):
            raise ValueError(f"the standard uncertainty has to be finite and 0 or more, not {u}")
        if self.dof is not None and (isnan(self.dof) or self.dof <= 0):
            raise ValueError(f"the degrees of freedom have to be above 0, not {self.dof}")
        if self.n is not None and self.n < 1:
            raise ValueError(f"the number of readings has to be 1 or more, not {self.n}")
