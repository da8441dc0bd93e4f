"""The 50 % energy (ballistic limit V50, as an energy), for each head and panel type."""
