"""What to shoot next: a plan in a balanced order, spots to aim at, the rule for the next shot."""
