"""Accuracy: collars and twist, run-out, tram, marks in the finish, slop."""
