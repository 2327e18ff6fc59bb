"""What food is made of, by mass balance, and the bakers' figures: exact numbers and bounds."""
