"""Groups of shots set against each other, and hits near earlier ones against fresh ones."""
