"""Columns that every file has which tells a head's 50 % energy at a panel type."""

from proofyard.exchange.csv_writing import Column


def number(name: str, meaning: str, unit: str) -> Column:
    """A column of numbers that are worked out."""
    return Column(name, meaning, unit, "worked out", number=True)


END = "95 % interval; where only one side is bounded that end holds by itself, one-sided, 97.5 %. Empty where it is not bounded"
OF_A_HEAD_AT_A_TYPE = (
    Column("panel_type", "The panel type, in words", "", "worked out"),
    Column("panel_type_key", "The same as addresses have it", "", "worked out"),
    Column("head_form", "Form of the head", "", "typed"),
    number("shots", "Decided shots with an energy that it rests on, counted as the results page counts them at first", "1"),
    number("through", "How many of them got through", "1"),
    number("fifty_percent_energy_j", "The 50 % energy (V50, as an energy)", "J"),
    number("fifty_percent_energy_low_j", f"Its lower end. {END}", "J"),
    number("fifty_percent_energy_high_j", f"Its upper end. {END}", "J"),
)
WHY_NOT = Column("why_not", "Why there is no figure, where there is none", "", "worked out")
