"""Which measure of the heads explains who gets through: tip, edge, frontal area, section, mass, hardness, momentum; and the angle."""
