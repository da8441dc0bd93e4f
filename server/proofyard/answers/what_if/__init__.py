"""What if the armour, the bow or the distance had been otherwise."""
