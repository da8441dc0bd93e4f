"""Loads what takes a second to load, while nobody waits: units, special functions, root-finders."""

from proofyard import quantities


def warm_up() -> None:
    """Work out one small thing of each kind, so that the first page that needs it finds it loaded."""
    # Named here, not above: they load numpy, which the start of the server need not wait for.
    from proofyard.statistics.penalised_logistic import LogisticFit, coefficient_interval, fit_logistic
    from proofyard.statistics.shares import share_interval

    quantities.warm_units()
    share_interval(1, 2)
    four_shots = fit_logistic([[1, 30], [1, 40], [1, 50], [1, 60]], [0, 1, 0, 1])
    if isinstance(four_shots, LogisticFit):
        coefficient_interval(four_shots, 1)
