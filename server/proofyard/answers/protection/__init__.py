"""Protection for weight: 50 % energies over what a square metre of the armour weighs."""
