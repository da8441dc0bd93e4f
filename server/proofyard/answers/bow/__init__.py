"""What is known of a bow: its curve, its days, the speeds it gave."""
